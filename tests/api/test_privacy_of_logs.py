"""Promise: nothing personal is logged: no nickname, age, allergen, food or label, whether the request is good or bad.

Asked in this process with every logger turned up, and of a real server process whose output is read whole.
"""

import json
import logging
import re
import socket
from typing import Any

import pytest

from tests.api.clients import client
from tests.served import GENEROUS, served

NICKNAME = "Zebulonia"
BODY: dict[str, Any] = {
    "standard": "us-school-lunch",
    "on": "2026-12-01",
    "child": {"nickname": NICKNAME, "age_years": 8.75, "avoids": [{"allergen": "lupin"}, {"allergen": "walnut"}]},
    "setting": {"bans": ["celery"]},
    "lunch": {
        "items": [
            {"food": "pumpkin-seeds"},
            {"food": {"name": "quokka crackers", "serving": {"grams": 30}, "ingredients": "Mullet flour, walnuts."}},
        ]
    },
}
SCREENING = {"children": [{**BODY["child"], "age_years": None}], "items": [{"food": "pumpkin-seeds"}]}
SCREENING["children"][0].pop("age_years")
WORDS = [NICKNAME, "8.75", "lupin", "walnut", "celery", "pumpkin", "quokka", "mullet", "gibberish"]


def with_fault(place: str, value: Any) -> dict[str, Any]:
    """The body with one value spoilt."""
    spoilt: dict[str, Any] = json.loads(json.dumps(BODY))
    inner = spoilt
    *outer, last = place.split("/")
    for part in outer:
        inner = inner[part]
    inner[last] = value
    return spoilt


REQUESTS: list[tuple[str, str, bytes]] = [
    ("POST", "/v1/lunch-checks", json.dumps(BODY).encode()),
    ("POST", "/v1/allergen-screenings", json.dumps(SCREENING).encode()),
    ("POST", "/v1/lunch-checks", json.dumps(with_fault("child/gibberish", NICKNAME)).encode()),
    ("POST", "/v1/lunch-checks", json.dumps(with_fault("child/nickname", NICKNAME * 9)).encode()),
    ("POST", "/v1/lunch-checks", json.dumps(with_fault("child/avoids", [{"allergen": "gibberish"}])).encode()),
    ("POST", "/v1/lunch-checks", json.dumps(with_fault("lunch/items", [{"food": "gibberish"}])).encode()),
    ("POST", "/v1/lunch-checks", json.dumps(with_fault("on", "1999-01-01")).encode()),
    ("POST", "/v1/lunch-checks", json.dumps(BODY).encode()[:-9]),
    ("POST", "/v1/lunch-checks", json.dumps(BODY).encode().replace(b"Zeb", b"Z\xe9b")),
    ("POST", "/v1/lunch-checks", json.dumps(BODY).encode() + b" " * 1_000_000),
    ("POST", "/v1/lunch-checks?child=Zebulonia", json.dumps(BODY).encode()),
    ("PUT", "/v1/lunch-checks", json.dumps(BODY).encode()),
    ("GET", "/v1/foods?q=walnut%20gibberish", b""),
    ("GET", "/v1/foods/pumpkin-seeds", b""),
    ("GET", "/v1/foods/gibberish", b""),
    ("GET", "/gibberish/Zebulonia", b""),
]


def assert_nothing_personal(text: str) -> None:
    """None of the words, in any case."""
    assert [word for word in WORDS if re.search(re.escape(word), text, re.I)] == [], text


def test_nothing_personal_is_logged_in_this_process(caplog: pytest.LogCaptureFixture) -> None:
    """Every logger at its most talkative, except the test client's own."""
    service = client()
    with caplog.at_level(logging.DEBUG):
        statuses = [
            service.request(method, path, content=body, headers={"Content-Type": "application/json"}).status_code
            for method, path, body in REQUESTS
        ]
    assert statuses == [200, 200, 422, 422, 422, 422, 422, 400, 400, 413, 422, 405, 200, 200, 404, 404]
    told = "\n".join(one.getMessage() for one in caplog.records if not one.name.startswith("httpx"))
    assert_nothing_personal(told)


def test_a_server_process_prints_nothing_personal() -> None:
    """Log level ``info``, the most the settings allow; also a request that is not HTTP, and one cut off."""
    with served(PACKED_LUNCH_LOG_LEVEL="info") as server:
        for method, path, body in REQUESTS:
            assert server.ask(method, path, body)[0] < 500
        for raw in (f"{NICKNAME} walnut\r\n\r\n", f"POST /v1/lunch-checks HTTP/1.1\r\nHost: {NICKNAME}\r\nX: walnut"):
            with socket.create_connection(("127.0.0.1", server.port), timeout=GENEROUS) as connection:
                connection.sendall(raw.encode())
                connection.shutdown(socket.SHUT_WR)
                connection.recv(1000)
    assert "Uvicorn running" in server.output
    assert_nothing_personal(server.output)
