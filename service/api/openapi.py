"""The OpenAPI document: FastAPI's own, with the examples of openapi_examples in it and problem+json named.

An example is a pair of files ``<operation id>/<case>.request.json`` and ``<case>.response.json``. A request is
the body, or for a GET ``{"path": {...}, "query": {...}}``; a reply is the body, or for an error
``{"status": ..., "body": ...}``.
"""

from functools import lru_cache
from typing import Any, Literal
from urllib.parse import quote, urlencode

import orjson
from pydantic import BaseModel
from pydantic.json_schema import models_json_schema

from service import __version__
from service.api.routes import documented_routes
from service.reference.files import BESIDE_THE_PACKAGE

JSON = "application/json"
TITLE = "Packed-lunch check"
ABOUT = """Checks packed school lunches: energy, nutrients and food groups by age against published standards,
allergens per child, choking forms, cold and hot holding.

Every figure names its source. Nothing is stored and nothing personal is logged. Read the label of every
packaged food each time; this is no medical advice; the school's policy, the local food code and the child's
clinician go before anything said here. New fields and new values of open lists may be added within /v1."""


def examples() -> dict[str, dict[str, dict[str, Any]]]:
    """Operation id -> case -> ``{"request": ..., "response": ...}``, read from openapi_examples."""
    found: dict[str, dict[str, dict[str, Any]]] = {}
    for folder in sorted((BESIDE_THE_PACKAGE / "openapi_examples").iterdir(), key=lambda path: path.name):
        if not folder.is_dir() or folder.name.startswith("_"):
            continue
        for path in sorted(folder.iterdir(), key=lambda one: one.name):
            parts = path.name.rsplit(".", 2)
            if len(parts) != 3 or parts[2] != "json":
                continue
            case, side, _json = parts
            found.setdefault(folder.name, {}).setdefault(case, {})[side] = orjson.loads(path.read_bytes())
    return found


@lru_cache(maxsize=1)
def openapi_document() -> dict[str, Any]:
    """The document, made when first asked for."""
    from fastapi.openapi.utils import get_openapi

    document: dict[str, Any] = get_openapi(
        title=TITLE, version=__version__, openapi_version="3.1.0", description=ABOUT, routes=documented_routes()
    )
    shown = examples()
    for template, path in document["paths"].items():
        for operation in path.values():
            _name_reply(operation)
            _put_examples(operation, template, shown.get(operation["operationId"], {}))
    document["components"]["schemas"].update(_reply_schemas())
    for unused in ("HTTPValidationError", "ValidationError"):  # FastAPI's own error bodies; none is ever sent
        document["components"]["schemas"].pop(unused, None)
    document["components"].setdefault("securitySchemes", {})["accessKey"] = {
        "type": "http",
        "scheme": "bearer",
        "description": "Needed only where the service was started with an access key.",
    }
    document["security"] = [{}, {"accessKey": []}]
    return document


def _name_reply(operation: dict[str, Any]) -> None:
    """Say what a good reply looks like; FastAPI's own 422 gives way to ours."""
    name = reply_models()[operation["operationId"]].__name__
    operation["responses"]["200"]["content"] = {JSON: {"schema": {"$ref": f"#/components/schemas/{name}"}}}
    for status, reply in operation["responses"].items():
        if status.startswith("4") and JSON in reply.get("content", {}):
            del reply["content"][JSON]


def reply_models() -> dict[str, type[BaseModel]]:
    """Operation id -> the published shape of its reply."""
    from service.api import batch_replies, offer_replies, replies

    return {
        "check-lunch": replies.LunchCheckReply,
        "screen-allergens": replies.ScreeningReply,
        "audit-offer": offer_replies.OfferAuditReply,
        "check-lunch-batch": batch_replies.LunchBatchReply,
        "search-foods": replies.FoodPage,
        "show-food": replies.FoodReply,
        "list-standards": replies.StandardList,
        "show-standard": replies.StandardReply,
        "list-allergens": replies.AllergenList,
        "list-choking-rules": replies.ChokingRuleList,
        "health": replies.Health,
    }


def _reply_schemas() -> dict[str, Any]:
    """The schemas of all replies and of a problem."""
    from service.api.replies import Problem

    published: list[type[BaseModel]] = [*reply_models().values(), Problem]
    models: list[tuple[type[BaseModel], Literal["serialization"]]] = [(model, "serialization") for model in published]
    _places, schemas = models_json_schema(models, ref_template="#/components/schemas/{model}")
    found: dict[str, Any] = schemas["$defs"]
    return found


def _put_examples(operation: dict[str, Any], template: str, cases: dict[str, dict[str, Any]]) -> None:
    """Requests become examples of the body or of the parameters, replies examples of the status they have."""
    for case, pair in cases.items():
        if set(pair) != {"request", "response"}:
            continue
        asked, answer = pair["request"], pair["response"]
        told = set(answer) == {"status", "body"}
        status, body = (str(answer["status"]), answer["body"]) if told else ("200", answer)
        summary = case.replace("-", " ")
        if body.get("type") != "/problems/invalid-request":  # an example of the schema has to fit the schema
            for place, value in _places(operation, asked):
                place.setdefault("examples", {})[case] = {"summary": summary, "value": value}
        shown = {"summary": summary, "value": body}
        if "requestBody" not in operation:
            shown["description"] = f"The answer to `GET {_address(template, asked)}`"
        for content in operation["responses"].get(status, {}).get("content", {}).values():
            content.setdefault("examples", {})[case] = shown


def _places(operation: dict[str, Any], asked: dict[str, Any]) -> list[tuple[dict[str, Any], Any]]:
    """Where the parts of a request belong in an operation, with their values."""
    if "requestBody" in operation:
        return [(operation["requestBody"]["content"][JSON], asked)]
    given = {**asked.get("path", {}), **asked.get("query", {})}
    return [(one, given[one["name"]]) for one in operation.get("parameters", []) if one["name"] in given]


def _address(template: str, asked: dict[str, Any]) -> str:
    """The address of a GET, as one would type it."""
    path = template.format(**{name: quote(value, safe="") for name, value in asked.get("path", {}).items()})
    query = urlencode(asked.get("query", {}))
    return f"{path}?{query}" if query else path
