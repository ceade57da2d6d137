"""The examples of openapi_examples, put into the OpenAPI document.

An example is a pair of files ``<operation id>/<case>.request.json`` and ``<case>.response.json``. A request is
the body, or where there are parameters ``{"path": {...}, "query": {...}, "headers": {...}, "body": {...}}``; a reply is
the body, or for an error (and for a reply without a body) ``{"status": ..., "body": ...}``.
"""

from typing import Any
from urllib.parse import quote, urlencode

import orjson

from service.reference.files import BESIDE_THE_PACKAGE

JSON = "application/json"
LONGEST_SHOWN = 6_000
"""Bytes of an example reply that the document carries; longer ones are named by their file. A choice of ours."""
OF_A_CALLER = ("Idempotency-Key", "If-None-Match")
"""Headers of which no example value may be sent twice: a page that tries a request out leaves them empty."""


def examples() -> dict[str, dict[str, dict[str, Any]]]:
    """Operation id -> case -> ``{"request": ..., "response": ...}``; good cases first, faults last."""
    found: dict[str, dict[str, dict[str, Any]]] = {}
    for folder in sorted((BESIDE_THE_PACKAGE / "openapi_examples").iterdir(), key=lambda path: path.name):
        if not folder.is_dir() or folder.name.startswith("_"):
            continue
        for path in sorted(folder.iterdir(), key=lambda one: (one.name.startswith("error-"), one.name)):
            parts = path.name.rsplit(".", 2)
            if len(parts) == 3 and parts[2] == "json":
                case, side, _json = parts
                found.setdefault(folder.name, {}).setdefault(case, {})[side] = orjson.loads(path.read_bytes())
    return found


def put_examples(operation: dict[str, Any], template: str, cases: dict[str, dict[str, Any]], method: str) -> None:
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
        shown: dict[str, Any] = {"summary": summary, "value": body}
        if len(orjson.dumps(body)) > LONGEST_SHOWN:
            continue
        if "requestBody" not in operation:
            shown["description"] = f"The answer to `{method.upper()} {_address(template, asked)}`"
        for media, content in operation["responses"].get(status, {}).get("content", {}).items():
            if media.endswith("json"):
                content.setdefault("examples", {})[case] = shown


def good_status(operation: dict[str, Any]) -> str:
    """The status of an operation's good reply."""
    return next(str(status) for status in operation["responses"] if status.startswith("2"))


def bare_body(operation: dict[str, Any]) -> bool:
    """Whether a request of this operation is written as its body alone: it has one, and no parameters."""
    return "requestBody" in operation and not operation.get("parameters")


def _places(operation: dict[str, Any], asked: dict[str, Any]) -> list[tuple[dict[str, Any], Any]]:
    """Where the parts of a request belong in an operation, with their values."""
    if bare_body(operation):
        return [(operation["requestBody"]["content"][JSON], asked)]
    given = {**asked.get("path", {}), **asked.get("query", {}), **asked.get("headers", {})}
    places = [
        (one, given[one["name"]])
        for one in operation.get("parameters", [])
        if one["name"] in given and one["name"] not in OF_A_CALLER
    ]
    if "body" in asked:
        places += [(content, asked["body"]) for content in operation["requestBody"]["content"].values()]
    return places


def _address(template: str, asked: dict[str, Any]) -> str:
    """The address of a GET, as one would type it."""
    path = template.format(**{name: quote(value, safe="") for name, value in asked.get("path", {}).items()})
    query = urlencode(asked.get("query", {}))
    return f"{path}?{query}" if query else path
