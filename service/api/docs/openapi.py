"""The OpenAPI document: FastAPI's own, with the bodies that our dependencies read and the examples in it.

FastAPI writes parameters, replies and statuses from the signatures and decorators; the model of a body stands in the
dependency that reads it (``bodies.py``).
"""

from collections.abc import Iterator
from functools import lru_cache
from typing import Any, Literal

from fastapi.openapi.utils import get_openapi
from fastapi.routing import APIRoute
from pydantic import BaseModel
from pydantic.json_schema import models_json_schema

from service import __version__
from service.api.bodies import JsonBody, MergePatch
from service.api.docs.examples import examples, put_examples
from service.api.replies import Problem
from service.api.routers import ROUTES

Schemas = dict[str, Any]
NEVER_ANSWERED = ("HTTPValidationError", "ValidationError", "Gs1Allergen")
"""Schemas that FastAPI adds to those of replies: its own errors, and one of a field that packets take and do not answer with."""
REF = "#/components/schemas/{model}"
TITLE = "Packed-lunch check"
ABOUT = """Checks packed school lunches: energy, nutrients and food groups by age against published standards,
allergens per child, choking forms, cold and hot holding.

Every figure names its source. Checks store nothing; what a household stores is under the tag household, behind its
access key. Nothing personal is logged. Read the label of every
packaged food each time; this is no medical advice; the school's policy, the local food code and the child's
clinician go before anything said here.

Lists of words that several fields share are schemas of their own name. New fields may be added within /v1, and new
values to those lists whose description says that they are open.

Ids in the examples are those of the demo family (`packed-lunch demo --keep`): with its key every example can be tried out.
Of your own household, list the records for their ids."""
LICENSE = {"name": "Apache 2.0", "identifier": "Apache-2.0"}
SERVERS = [{"url": "/", "description": "This service."}]
TAGS = [
    {"name": "checks", "description": "Checks of what is sent along. They store nothing."},
    {
        "name": "plans",
        "description": "What to make, set out and buy for the days ahead. Computed from what is sent along.",
    },
    {"name": "reference", "description": "Foods, standards, allergens and choking rules, each figure with its source."},
    {"name": "household", "description": "What a household stores: children, foods, recipes, offers, prices, lunches."},
    {"name": "service", "description": "The service itself, and what its problems mean."},
]
ACCESS_KEY = {
    "type": "http",
    "scheme": "bearer",
    "description": "Needed from other machines, and where the service was started with an access key; a household's key "
    "will do too, and opens what the household stores by its ids.",
}


def routes() -> Iterator[APIRoute]:
    """All routes that are documented."""
    yield from (route for route in ROUTES if isinstance(route, APIRoute))


@lru_cache(maxsize=1)
def openapi_document() -> dict[str, Any]:
    """The document, made when first asked for."""
    document: dict[str, Any] = get_openapi(
        title=TITLE,
        version=__version__,
        openapi_version="3.1.0",
        description=ABOUT,
        routes=ROUTES,
        tags=TAGS,
        servers=SERVERS,
        license_info=LICENSE,
    )
    bodies = {route.operation_id: _body_of(route) for route in routes()}
    shown = examples()
    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            body = bodies[operation["operationId"]]
            if body is not None:
                schema = {"$ref": REF.format(model=body.documented.__name__)}
                operation["requestBody"] = {"required": True, "content": {body.media: {"schema": schema}}}
            put_examples(operation, path, shown.get(operation["operationId"], {}), method)
            _share_problems(document, operation)
    _put_schemas(document, [body.documented for body in bodies.values() if body is not None])
    document["components"]["securitySchemes"]["accessKey"] = ACCESS_KEY
    document["security"] = [{}, {"accessKey": []}]
    return document


def _body_of(route: APIRoute) -> JsonBody | MergePatch | None:
    """The dependency that reads the body of a route."""
    calls = (one.call for one in route.dependant.dependencies)
    return next((call for call in calls if isinstance(call, JsonBody | MergePatch)), None)


def _share_problems(document: dict[str, Any], operation: dict[str, Any]) -> None:
    """Problems without an example of their own become references to one description each; FastAPI's own are never sent."""
    shared = document["components"].setdefault("responses", {})
    for status, reply in operation["responses"].items():
        if not status.startswith(("4", "5")):
            continue
        reply.get("content", {}).pop("application/json", None)
        if not any("examples" in content for content in reply["content"].values()):
            shared[f"Problem{status}"] = dict(reply)
            operation["responses"][status] = {"$ref": f"#/components/responses/Problem{status}"}


def _put_schemas(document: dict[str, Any], asked: list[type[BaseModel]]) -> None:
    """The schemas of replies, open for more fields to come, and those of bodies, closed.

    A model that is in both has two schemas: that of replies gets the ending that FastAPI gives it. Lists of words are
    the same in both.
    """
    replies: Schemas = document["components"]["schemas"]
    for unused in NEVER_ANSWERED:
        replies.pop(unused, None)
    replies.update(_schemas([Problem], "serialization"))
    for schema in replies.values():
        if schema.get("additionalProperties") is False:
            del schema["additionalProperties"]
    bodies = _schemas(asked, "validation")
    both = {name: f"{name}-Output" for name in replies if name in bodies and replies[name] != bodies[name]}
    for name, renamed_to in both.items():
        replies[name]["title"] = renamed_to  # generators name their classes by it
    _rename(replies, both)
    _rename(document["paths"], both, skip="requestBody")
    renamed = {both.get(name, name): schema for name, schema in replies.items()}
    document["components"]["schemas"] = dict(sorted({**renamed, **bodies}.items()))


def _schemas(models: list[type[BaseModel]], mode: Literal["validation", "serialization"]) -> Schemas:
    _places, found = models_json_schema([(model, mode) for model in dict.fromkeys(models)], ref_template=REF)
    schemas: Schemas = found["$defs"]
    return schemas


def _rename(part: Any, names: dict[str, str], skip: str = "") -> None:
    """Point the references of a part at the new names of schemas."""
    if isinstance(part, dict):
        for key, inner in part.items():
            if key == "$ref" and isinstance(inner, str) and "/schemas/" in inner:
                name = inner.rsplit("/", 1)[1]
                part[key] = REF.format(model=names.get(name, name))
            elif key not in (skip, "examples"):
                _rename(inner, names, skip)
    elif isinstance(part, list):
        for inner in part:
            _rename(inner, names, skip)
