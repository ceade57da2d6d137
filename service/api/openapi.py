"""The OpenAPI document: FastAPI's own, with the examples of openapi_examples in it and problem+json named.

An example is a pair of files ``<operation id>/<case>.request.json`` and ``<case>.response.json``. A request is
the body, or where there are parameters ``{"path": {...}, "query": {...}, "headers": {...}, "body": {...}}``; a reply is
the body, or for an error (and for a reply without a body) ``{"status": ..., "body": ...}``.
"""

from functools import lru_cache
from typing import Any, Literal
from urllib.parse import quote, urlencode

import orjson
from pydantic import BaseModel
from pydantic.json_schema import models_json_schema

from service import __version__
from service.api.routes import documented_routes
from service.jobs.requests import UUID_TEXT
from service.reference.files import BESIDE_THE_PACKAGE

JSON = "application/json"
OTHER_MEDIA = dict.fromkeys(("sum-up-week", "show-child-week"), ("text/html", "text/csv"))
"""Operation id -> what else than JSON it answers, as text."""
TITLE = "Packed-lunch check"
ABOUT = """Checks packed school lunches: energy, nutrients and food groups by age against published standards,
allergens per child, choking forms, cold and hot holding.

Every figure names its source. Checks store nothing; what a household keeps is under the tag household, behind its
access key. Nothing personal is logged. Read the label of every
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
        for method, operation in path.items():
            _name_reply(operation)
            _put_examples(operation, template, shown.get(operation["operationId"], {}), method)
    document["components"]["schemas"].update({**_reply_schemas(), **_request_schemas()})
    _accept_kept_ids(document["components"]["schemas"])
    for unused in ("HTTPValidationError", "ValidationError"):  # FastAPI's own error bodies; none is ever sent
        document["components"]["schemas"].pop(unused, None)
    document["components"]["securitySchemes"] = {
        "accessKey": {
            "type": "http",
            "scheme": "bearer",
            "description": "Needed from other machines, and where the service was started with an access key; a "
            "household's key will do too, and opens what the household keeps by its ids.",
        },
        "householdKey": {"type": "http", "scheme": "bearer", "description": "An access key of a household."},
    }
    document["security"] = [{}, {"accessKey": []}]
    return document


def _name_reply(operation: dict[str, Any]) -> None:
    """Say what a good reply looks like; FastAPI's own 422 gives way to ours."""
    model = reply_models()[operation["operationId"]]
    good = operation["responses"][good_status(operation)]
    if model is not None:
        good["content"] = {JSON: {"schema": {"$ref": f"#/components/schemas/{model.__name__}"}}}
        good["content"] |= {
            media: {"schema": {"type": "string"}} for media in OTHER_MEDIA.get(operation["operationId"], ())
        }
    for status, reply in operation["responses"].items():
        if status.startswith("4") and JSON in reply.get("content", {}):
            del reply["content"][JSON]


def good_status(operation: dict[str, Any]) -> str:
    """The status of an operation's good reply."""
    return next(str(status) for status in operation["responses"] if status.startswith("2"))


@lru_cache(maxsize=1)
def reply_models() -> dict[str, type[BaseModel] | None]:
    """Operation id -> the published shape of its reply; None for a reply without a body."""
    from service.api import batch_replies, offer_replies, replies, week_replies
    from service.api.household.replies import household_reply_models

    return {
        **household_reply_models(),
        "check-lunch": replies.LunchCheckReply,
        "screen-allergens": replies.ScreeningReply,
        "audit-offer": offer_replies.OfferAuditReply,
        "check-lunch-batch": batch_replies.LunchBatchReply,
        "sum-up-week": week_replies.WeeklySummaryReply,
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

    published: list[type[BaseModel]] = [*(model for model in reply_models().values() if model is not None), Problem]
    models: list[tuple[type[BaseModel], Literal["serialization"]]] = [(model, "serialization") for model in published]
    _places, schemas = models_json_schema(models, ref_template="#/components/schemas/{model}")
    found: dict[str, Any] = schemas["$defs"]
    return found


def _request_schemas() -> dict[str, Any]:
    """The schemas of what a household keeps, as it is sent."""
    from service.jobs.household.access_keys import NewKey
    from service.jobs.household.requests import KeptChild, KeptFood, KeptOffer, KeptPrice, KeptRecipe, LoggedLunch

    asked: list[type[BaseModel]] = [KeptChild, KeptFood, KeptOffer, KeptPrice, KeptRecipe, LoggedLunch, NewKey]
    models: list[tuple[type[BaseModel], Literal["validation"]]] = [(model, "validation") for model in asked]
    _places, schemas = models_json_schema(models, ref_template="#/components/schemas/{model}")
    found: dict[str, Any] = schemas["$defs"]
    return found


KEPT_INSTEAD = {
    ("LunchCheckRequest", "child"): "a kept child: its school's bans and standard serve where none are given",
    ("LunchCheckRequest", "lunch"): "a kept lunch",
    ("ScreeningRequest", "children"): "a kept child, its school's bans among what it avoids",
    ("OfferAuditRequest", "offer"): "a kept offer",
    ("OfferAuditRequest", "children"): "a kept child, who does not take what it dislikes",
}
"""Fields (or elements of lists) that may be an id instead, for callers with a household's key."""


def _accept_kept_ids(schemas: dict[str, Any]) -> None:
    """Say in the schemas where the id of something kept stands for the thing itself."""
    for (model, name), what in KEPT_INSTEAD.items():
        place = schemas[model]["properties"][name]
        inner = place.get("items")
        kept = {"type": "string", "pattern": UUID_TEXT, "description": f"With a household's key: id of {what}."}
        either = {"anyOf": [inner or {"$ref": place["$ref"]}, kept]}
        if inner is None:
            schemas[model]["properties"][name] = either
        else:
            place["items"] = either


def _put_examples(operation: dict[str, Any], template: str, cases: dict[str, dict[str, Any]], method: str) -> None:
    """Requests become examples of the body or of the parameters, replies examples of the status they have."""
    for case, pair in cases.items():
        if set(pair) != {"request", "response"}:
            continue
        asked, answer = pair["request"], pair["response"]
        told = set(answer) == {"status", "body"}
        status, body = (str(answer["status"]), answer["body"]) if told else (good_status(operation), answer)
        summary = case.replace("-", " ")
        if body is None or body.get("type") != "/problems/invalid-request":  # an example of a schema has to fit it
            for place, value in _places(operation, asked):
                place.setdefault("examples", {})[case] = {"summary": summary, "value": value}
        shown = {"summary": summary, "value": body}
        if "requestBody" not in operation:
            shown["description"] = f"The answer to `{method.upper()} {_address(template, asked)}`"
        for media, content in operation["responses"].get(status, {}).get("content", {}).items():
            if media not in OTHER_MEDIA.get(operation["operationId"], ()):
                content.setdefault("examples", {})[case] = shown


def _places(operation: dict[str, Any], asked: dict[str, Any]) -> list[tuple[dict[str, Any], Any]]:
    """Where the parts of a request belong in an operation, with their values."""
    if bare_body(operation):
        return [(operation["requestBody"]["content"][JSON], asked)]
    given = {**asked.get("path", {}), **asked.get("query", {}), **asked.get("headers", {})}
    places = [(one, given[one["name"]]) for one in operation.get("parameters", []) if one["name"] in given]
    if "body" in asked:
        places += [(content, asked["body"]) for content in operation["requestBody"]["content"].values()]
    return places


def bare_body(operation: dict[str, Any]) -> bool:
    """Whether a request of this operation is written as its body alone: it has one, and no parameters."""
    return "requestBody" in operation and not operation.get("parameters")


def _address(template: str, asked: dict[str, Any]) -> str:
    """The address of a GET, as one would type it."""
    path = template.format(**{name: quote(value, safe="") for name, value in asked.get("path", {}).items()})
    query = urlencode(asked.get("query", {}))
    return f"{path}?{query}" if query else path
