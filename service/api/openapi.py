"""The OpenAPI document: FastAPI's own, with the examples of openapi_examples in it and problem+json named.

An example is a pair of files ``<operation id>/<case>.request.json`` and ``<case>.response.json``.
"""

from typing import Any

import orjson
from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi

from service.api.problems import MEDIA_TYPE
from service.reference.files import BESIDE_THE_PACKAGE

JSON = "application/json"
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


def openapi_document(app: FastAPI) -> dict[str, Any]:
    """The document, made once for an app."""
    if app.openapi_schema is not None:
        return app.openapi_schema
    document: dict[str, Any] = get_openapi(
        title=app.title, version=app.version, openapi_version="3.1.0", description=ABOUT, routes=app.routes
    )
    shown = examples()
    for path in document["paths"].values():
        for operation in path.values():
            _name_problems(operation)
            _put_examples(operation, shown.get(operation["operationId"], {}))
    document["components"].setdefault("securitySchemes", {})["accessKey"] = {
        "type": "http",
        "scheme": "bearer",
        "description": "Needed only where the service was started with an access key.",
    }
    document["security"] = [{}, {"accessKey": []}]
    app.openapi_schema = document
    return document


def _name_problems(operation: dict[str, Any]) -> None:
    """FastAPI writes error replies as application/json; ours are problem+json."""
    for status, reply in operation["responses"].items():
        if status.startswith(("4", "5")) and JSON in reply.get("content", {}):
            reply["content"] = {MEDIA_TYPE: reply["content"][JSON]}
            reply["content"][MEDIA_TYPE]["schema"] = {"$ref": "#/components/schemas/Problem"}


def _put_examples(operation: dict[str, Any], cases: dict[str, dict[str, Any]]) -> None:
    for case, pair in cases.items():
        summary = case.replace("-", " ")
        if "requestBody" in operation and "request" in pair:
            content = operation["requestBody"]["content"][JSON]
            content.setdefault("examples", {})[case] = {"summary": summary, "value": pair["request"]}
        response = pair.get("response")
        if response is None:
            continue
        status = str(response["status"]) if set(response) == {"status", "body"} else "200"
        body = response["body"] if set(response) == {"status", "body"} else response
        for content in operation["responses"].get(status, {}).get("content", {}).values():
            content.setdefault("examples", {})[case] = {"summary": summary, "value": body}
