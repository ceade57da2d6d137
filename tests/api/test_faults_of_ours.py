"""Promise: a fault of ours is a bare 500 that shows nothing of the inside, nor of the request, anywhere."""

import logging
from typing import Any

import pytest

from service.api.logs.lines import PlainLines
from service.api.lunch import routes
from tests.api.clients import LUNCH, PROBLEM, changed, client

PRIVATE = "Zebulonia"


@pytest.mark.parametrize("origins", ["", "https://kitchen.example"])
def test_an_unexpected_fault_is_a_bare_500(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture, origins: str
) -> None:
    """The log gets the kind of the fault and the lines of code, never the message with its values."""

    def broken(asked: Any) -> dict[str, Any]:
        raise KeyError(asked.child.nickname)

    monkeypatch.setattr(routes, "check_lunch", broken)
    service = client(allowed_origins=origins)
    with caplog.at_level(logging.DEBUG):
        answer = service.post(
            "/v1/lunch-checks", json=changed("child/nickname", PRIVATE), headers={"Origin": "https://kitchen.example"}
        )
    assert answer.status_code == 500
    assert answer.headers["content-type"] == PROBLEM
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["cache-control"] == "no-store"
    assert answer.headers.get("access-control-allow-origin") == (origins or None)
    called = answer.headers["x-request-id"]
    assert answer.json() == {
        "type": "/problems/internal-error",
        "title": "Something went wrong here",
        "status": 500,
        "detail": f"The service failed at request {called}, which was not carried out; the fault is in its log. "
        "Tell whoever runs this service the number of the request: by it the log says where the service failed.",
        "instance": "/v1/lunch-checks",
        "code": "internal-error",
        "params": {"request": called},
        "request_id": called,
    }
    (line,) = [PlainLines().format(one) for one in caplog.records if one.name == "packed_lunch"]
    assert "unexpected KeyError method=POST route=/v1/lunch-checks" in line
    assert "in broken" in line
    assert PRIVATE not in line + caplog.text


def test_the_service_goes_on_after_a_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    """One broken request does not end the process or the connection."""
    service = client()
    with monkeypatch.context() as broken:
        broken.setattr(routes, "check_lunch", lambda _asked: 1 / 0)
        assert service.post("/v1/lunch-checks", json=LUNCH).status_code == 500
    assert service.post("/v1/lunch-checks", json=LUNCH).status_code == 200
