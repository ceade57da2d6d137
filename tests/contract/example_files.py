"""The pairs in openapi_examples: read, asked of the real application, and written again."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple
from urllib.parse import quote

import orjson
from starlette.testclient import TestClient

from service.api.docs.examples import bare_body, parts_of
from tests.api.clients import client
from tests.branded_foods import invented_index
from tests.contract.example_store import example_household

FOLDER = Path(__file__).resolve().parents[2] / "openapi_examples"

Document = dict[str, Any]


@dataclass(frozen=True)
class Example:
    """One example: its operation, its name, the request, and the file that holds the reply."""

    operation: str
    case: str
    request: Any
    reply_file: Path

    def id(self) -> str:
        """How a test is named after it."""
        return f"{self.operation}/{self.case}"

    def reply(self) -> Any:
        """The reply as it is written."""
        return orjson.loads(self.reply_file.read_bytes())


def example_client() -> TestClient:
    """The application that examples are asked of, with an index of invented branded foods."""
    return client(branded_foods_file=str(invented_index()))


def example_files() -> list[Example]:
    """All examples, by operation and name."""
    found = []
    for path in sorted(FOLDER.glob("*/*.request.json")):
        case = path.name.removesuffix(".request.json")
        request = orjson.loads(path.read_bytes())
        found.append(Example(path.parent.name, case, request, path.with_name(f"{case}.response.json")))
    return found


class Operation(NamedTuple):
    """Where an operation is asked. ``household``: it needs a household's key; ``bare``: a request is its body alone."""

    method: str
    template: str
    media: str
    household: bool
    bare: bool


def operations(document: Document) -> dict[str, Operation]:
    """Operation id -> where it is asked, out of an OpenAPI document."""
    return {
        operation["operationId"]: Operation(
            method.upper(),
            template,
            next(iter(operation.get("requestBody", {}).get("content", {})), ""),
            {"householdKey": []} in operation.get("security", []),
            bare_body(operation),
        )
        for template, methods in document["paths"].items()
        for method, operation in methods.items()
    }


def asked(client: TestClient, known: dict[str, Operation], example: Example) -> tuple[int, bytes]:
    """Ask the application; status and body. What a household stores is asked of the household of the examples."""
    operation = known[example.operation]
    if not (operation.household or example.case.startswith(OF_A_HOUSEHOLD)):
        return _asked(client, operation, example, {})
    with example_household() as (of_household, key):
        return _asked(of_household, operation, example, key)


OF_A_HOUSEHOLD = "kept-"
"""How the names of examples begin that ask a check with the key of a household."""


def _asked(client: TestClient, operation: Operation, example: Example, key: dict[str, str]) -> tuple[int, bytes]:
    told = parts_of(example.request, bare=operation.bare)
    parts = {name: quote(value, safe="") for name, value in told.get("path", {}).items()}
    headers = {**key, **told.get("headers", {})}
    content = None
    if "body" in told:
        headers["Content-Type"] = operation.media
        content = orjson.dumps(told["body"])
    answer = client.request(
        operation.method,
        operation.template.format(**parts),
        params=told.get("query"),
        headers=headers,
        content=content,
    )
    return answer.status_code, answer.content


def as_written(status: int, body: bytes) -> Any:
    """A reply as it stands in its file: the body, or for an error and a reply without a body status and body."""
    read = orjson.loads(body) if body else None
    return read if status in (200, 201) else {"status": status, "body": read}
