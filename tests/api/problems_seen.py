"""What holds for every error of the API, looked at in one place.

The shape is RFC 9457: media type ``application/problem+json``; ``type`` (here relative, ``/problems/<slug>``),
``title`` (the same for all problems of a type), ``status`` (that of the reply), ``detail``, ``instance`` (the path
asked). For a fault of the request ``errors`` adds, for each fault, ``pointer`` (RFC 6901 into the body as in the RFC's
own example, or the name of a parameter), ``value``, ``detail``, ``remedy`` and ``slug``. A fault of the exchange itself has
``code`` and ``params`` next to ``detail``.
"""

import json
import re
from typing import Any

import jsonschema_rs
from starlette.testclient import TestClient

from service.api.problems import PROBLEMS, title_of
from service.api.replies import Problem
from service.domain.messages import message_of
from service.reference.fault_words import problem_words
from tests.api.clients import BODY, PROBLEM

CHECK = "/v1/lunch-checks"
SCREEN = "/v1/allergen-screenings"

RFC_9457 = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "title": "An RFC 7807 problem object",
    "type": "object",
    "properties": {
        "type": {"type": "string", "format": "uri-reference"},
        "title": {"type": "string"},
        "status": {"type": "integer", "minimum": 100, "maximum": 599},
        "detail": {"type": "string"},
        "instance": {"type": "string", "format": "uri-reference"},
    },
}
"""The schema of RFC 9457 appendix A, from memory."""
STANDARD_SHAPE = jsonschema_rs.validator_for(RFC_9457, validate_formats=True)

INSIDE = re.compile(r"traceback|site-packages|\.py\b|pydantic|starlette|fastapi|errors\.pydantic|0x[0-9a-f]{6}", re.I)


def problem_of(answer: Any, status: int, slug: str, path: str | None = None) -> dict[str, Any]:
    """The problem of a reply, after everything that holds for each was looked at."""
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == PROBLEM
    body: dict[str, Any] = answer.json()
    STANDARD_SHAPE.validate(body)
    Problem.model_validate(body, strict=True)
    assert body["type"] == f"/problems/{slug}"
    assert (body["status"], body["title"]) == (PROBLEMS[slug], title_of(slug))
    assert body["status"] == status
    assert body["detail"].strip()
    if "errors" not in body:  # of the exchange: its code and values are enough to say the detail again
        said = problem_words(message_of({"code": f"fault.{body['code']}", "params": body["params"]}))
        assert body["detail"] == f"{said.problem}. {said.remedy}"
    if path is not None:
        assert body["instance"] == path
    assert not INSIDE.search(answer.text), answer.text
    if status == 422:
        assert body["errors"]
    for error in body.get("errors", []):
        assert error["detail"].strip()
        assert error["remedy"].strip()
        assert error["remedy"].rstrip()[-1] in ".?", error
        assert len(error["value"]) <= 120
    return body


def post(service: TestClient, body: bytes | str | dict[str, Any], path: str = CHECK, **headers: str) -> Any:
    """Post a body as JSON."""
    content = json.dumps(body) if isinstance(body, dict) else body
    return service.post(path, content=content, headers={"Content-Type": BODY, **headers})
