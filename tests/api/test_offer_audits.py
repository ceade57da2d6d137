"""Promise: a long count blocks nobody, and stops when the caller goes away; sizes are told before counting."""

import json
import os
import socket
import time
from pathlib import Path
from typing import Any

import pytest

from service.api.offers.replies import OfferAuditReply
from tests.api.clients import client
from tests.served import GENEROUS, served

FOODS = ("apple", "orange", "banana", "pear", "plum", "peach", "kiwifruit")


def large_offer(groups: int, items: int) -> dict[str, Any]:
    """An offer of many portions of fruit: every lunch of it is another sum."""
    made = [
        {
            "id": f"group {g}",
            "items": [
                {"food": FOODS[(g + i) % len(FOODS)], "quantity": 40 + 7 * i + g, "unit": "g", "key": f"item {i}"}
                for i in range(items)
            ],
        }
        for g in range(groups)
    ]
    return {
        "on": "2026-12-01",
        "offer": {"groups": made},
        "children": [{"standard": "gb-sct-school-lunch", "age_years": 8}],
        "measures": [],
        "examples": 0,
        "max_changes": 0,
    }


def seconds_of_work(pid: int) -> float:
    """Processor seconds a process has used (Linux)."""
    fields = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def test_a_long_count_blocks_nobody_and_stops_with_its_caller() -> None:
    asked = large_offer(5, 115)
    asked["children"] = [  # each leaves another item, so that all of it takes far longer than this test
        {**asked["children"][0], "without": [{"group": f"group {n % 5}", "item": f"item {n}"}]} for n in range(7)
    ]
    body = json.dumps(asked).encode()
    head = (
        f"POST /v1/offer-audits HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\n"
        f"Content-Length: {len(body)}\r\n\r\n"
    ).encode()
    with served() as server:
        caller = socket.create_connection(("127.0.0.1", server.port))
        caller.sendall(head + body)
        begun = seconds_of_work(server.process.pid)
        for answers in range(1, 4):
            until = time.monotonic() + GENEROUS
            while seconds_of_work(server.process.pid) < begun + answers * 0.5:  # the count is under way
                assert time.monotonic() < until
                time.sleep(0.05)
            assert server.ask("GET", "/v1/health")[0] == 200
        caller.settimeout(0.01)
        with pytest.raises(TimeoutError):
            caller.recv(1)
        caller.close()
        assert _falls_quiet(server.process.pid, within_seconds=15.0)
        status, _reply = server.ask("GET", "/v1/health")
        assert status == 200


def _falls_quiet(pid: int, within_seconds: float) -> bool:
    """Whether a process does next to nothing for a second, before long."""
    until = time.monotonic() + within_seconds
    while time.monotonic() < until:
        before = seconds_of_work(pid)
        time.sleep(1.0)
        if seconds_of_work(pid) - before < 0.1:
            return True
    return False


def test_a_size_over_the_limit_is_told_with_the_way_out() -> None:
    answer = client().post("/v1/offer-audits", json=large_offer(8, 70))
    assert answer.status_code == 422
    error = answer.json()["errors"][0]
    assert error["pointer"] == "#/offer"
    assert "576,480,100,000,000" in error["value"]
    assert "estimate" in error["remedy"]


def test_an_estimate_is_labelled_as_one() -> None:
    answer = client().post("/v1/offer-audits", json={**large_offer(8, 70), "estimate": {"lunches": 5000, "seed": 7}})
    assert answer.status_code == 200
    reply = OfferAuditReply.model_validate(answer.json())
    estimate = reply.children[0].estimate
    assert estimate is not None
    assert "estimate, not a count" in estimate.note
    assert estimate.low <= estimate.right_share <= estimate.high
    assert reply.children[0].right is None
