"""The pairs in openapi_examples: read, asked of the real application, and written again."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote

import orjson
from starlette.testclient import TestClient

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


def example_files() -> list[Example]:
    """All examples, by operation and name."""
    found = []
    for path in sorted(FOLDER.glob("*/*.request.json")):
        case = path.name.removesuffix(".request.json")
        request = orjson.loads(path.read_bytes())
        found.append(Example(path.parent.name, case, request, path.with_name(f"{case}.response.json")))
    return found


def operations(document: Document) -> dict[str, tuple[str, str]]:
    """Operation id -> method and path template, out of an OpenAPI document."""
    return {
        operation["operationId"]: (method.upper(), template)
        for template, methods in document["paths"].items()
        for method, operation in methods.items()
    }


def asked(client: TestClient, known: dict[str, tuple[str, str]], example: Example) -> tuple[int, bytes]:
    """Ask the application; status and body."""
    method, template = known[example.operation]
    if method == "POST":
        answer = client.post(
            template, content=orjson.dumps(example.request), headers={"Content-Type": "application/json"}
        )
    else:
        parts = {name: quote(value, safe="") for name, value in example.request.get("path", {}).items()}
        answer = client.get(template.format(**parts), params=example.request.get("query", {}))
    return answer.status_code, answer.content


def as_written(status: int, body: bytes) -> Any:
    """A reply as it stands in its file: the body, or for an error status and body."""
    read = orjson.loads(body)
    return read if status == 200 else {"status": status, "body": read}
