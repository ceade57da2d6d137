"""The examples of openapi_examples, put into the OpenAPI document.

An example is a pair of files ``<operation id>/<case>.request.json`` and ``<case>.response.json``. A request is
the body, or where parameters are sent ``{"path": {...}, "query": {...}, "headers": {...}, "body": {...}}``; a reply is
the body, or for an error (and for a reply without a body) ``{"status": ..., "body": ...}``.
"""

from typing import Any
from urllib.parse import quote, urlencode

import orjson

from service.reference.files import BESIDE_THE_PACKAGE

JSON = "application/json"
LONGEST_WHOLE = 1_500
"""Bytes of an example reply that is shown whole; of a longer one every list is cut to its first element."""
MOST_GOOD = 3
"""Requests shown of an operation, besides those that are faulty; all of them lie in openapi_examples."""
OF_A_CALLER = ("Idempotency-Key", "If-None-Match")
"""Headers of which no example value may be sent twice: a page that tries a request out leaves them empty."""
PARTS = frozenset({"path", "query", "headers", "body"})
"""What a request with parameters is written by."""
ANY = "*"
"""The value of a condition that holds for any version, or none: it can be sent as it is."""


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
    """Requests become examples of the body or of the parameters, replies examples of the status they have.

    Of the good cases the first requests are shown, and the first reply, shortened: the document has to open on a phone.
    """
    good = 0
    for case, pair in cases.items():
        if set(pair) != {"request", "response"}:
            continue
        asked, answer = pair["request"], pair["response"]
        bare = set(answer) == {"status", "body"}
        status, body = (str(answer["status"]), answer["body"]) if bare else (good_status(operation), answer)
        faulty = case.startswith("error-")
        good += not faulty
        if not faulty and good > MOST_GOOD:
            continue
        summary = case.replace("-", " ")
        if not faulty:
            for place, value in _places(operation, asked):
                if good > 1 and "examples" not in place:
                    continue  # a page fills in the first value of each place: those of one case go together
                place.setdefault("examples", {})[case] = {"summary": summary, "value": value}
        contents = operation["responses"].get(status, {}).get("content", {})
        for media, content in contents.items():
            if media.endswith("json") and (faulty or (media == _accepted(asked) and "examples" not in content)):
                shown = {"summary": summary, "value": _shortened(body)}
                shown["description"] = f"The answer to `{method.upper()} {_address(template, asked)}`"
                if "requestBody" in operation:
                    del shown["description"]
                if shown["value"] != body:
                    words = f"Lists are cut to their first element; whole: openapi_examples/{operation['operationId']}/{case}"
                    shown["description"] = f"{shown.get('description', '')} {words}.response.json".strip()
                content.setdefault("examples", {})[case] = shown


def _accepted(asked: dict[str, Any]) -> str:
    """The media type that a request of an example asks for; JSON where it says nothing."""
    headers = parts_of(asked, bare=False).get("headers", {})
    return str(headers.get("Accept", JSON))


def _shortened(body: Any) -> Any:
    """A reply, with its lists cut to their first element if it is long."""
    return body if len(orjson.dumps(body)) <= LONGEST_WHOLE else _cut(body)


def _cut(part: Any) -> Any:
    if isinstance(part, dict):
        return {name: _cut(inner) for name, inner in part.items()}
    return [_cut(inner) for inner in part[:1]] if isinstance(part, list) else part


def good_status(operation: dict[str, Any]) -> str:
    """The status of an operation's good reply."""
    return next(str(status) for status in operation["responses"] if status.startswith("2"))


def bare_body(operation: dict[str, Any]) -> bool:
    """Whether a request of this operation is written as its body alone: it has one, and no parameters."""
    return "requestBody" in operation and not operation.get("parameters")


def parts_of(asked: dict[str, Any], *, bare: bool) -> dict[str, Any]:
    """A request by its parts; one with other fields is its body alone, so that a command can read the file too."""
    return {"body": asked} if bare or not set(asked) <= PARTS else asked


def _places(operation: dict[str, Any], asked: dict[str, Any]) -> list[tuple[dict[str, Any], Any]]:
    """Where the parts of a request belong in an operation, with their values."""
    if bare_body(operation):
        return [(next(iter(operation["requestBody"]["content"].values())), asked)]
    asked = parts_of(asked, bare=False)
    given = {**asked.get("path", {}), **asked.get("query", {}), **asked.get("headers", {})}
    places = [
        (one, given[one["name"]])
        for one in operation.get("parameters", [])
        if one["name"] in given and (one["name"] not in OF_A_CALLER or given[one["name"]] == ANY)
    ]
    if "body" in asked:
        places += [(content, asked["body"]) for content in operation["requestBody"]["content"].values()]
    return places


def _address(template: str, asked: dict[str, Any]) -> str:
    """The address of a GET, as one would type it."""
    path = template.format(**{name: quote(value, safe="") for name, value in asked.get("path", {}).items()})
    query = urlencode(asked.get("query", {}))
    return f"{path}?{query}" if query else path
