"""Promise: no name, allergy, food, reason or key of a household is logged or stands in an address.

ASVS 5.0.0 V14.2.1, V16.2.5; asked with every logger turned up, SQLAlchemy's and Alembic's too.
"""

import logging
import re
from typing import Any

import pytest

from service.api.docs.openapi import openapi_document
from tests.api.household.homes import Home, child_body, food_body, lunch_body, today

WORDS = ["Zebulonia", "lupin", "quokka", "mullet", "gibberish", "neighbour"]


def _ask_much(home: Home) -> list[int]:
    """Good requests and bad ones about a child with a name and an allergy."""
    body = child_body("Zebulonia", avoids=[{"allergen": "lupin"}], dislikes=["quokka"])
    child = home.kept("/v1/children", body)
    food = home.kept("/v1/foods", food_body("quokka crackers", ingredients="Mullet flour, lupin."))
    lunch = lunch_body(child, today(), food)
    asked: list[tuple[str, str, Any]] = [
        ("POST", "/v1/children", body),
        ("POST", "/v1/children", {**body, "gibberish": 1}),
        ("POST", "/v1/children", child_body("Rowan", avoids=[{"allergen": "gibberish"}])),
        ("POST", "/v1/lunches", lunch),
        ("POST", "/v1/lunches", {**lunch, "acknowledged": {"reason": "For the neighbour."}}),
        ("PATCH", f"/v1/children/{child}", {"nickname": None}),
        ("PATCH", f"/v1/children/{child}", {"dislikes": ["gibberish"]}),
        ("PATCH", f"/v1/children/{child}", b"gibberish"),
        ("GET", "/v1/children/Zebulonia", None),
        ("GET", "/v1/foods?q=quokka", None),
        ("GET", f"/v1/children/{child}/weeks/gibberish", None),
        ("POST", "/v1/keys", {"name": "Zebulonia", "rights": "read"}),
        ("GET", "/v1/export", None),
        ("DELETE", f"/v1/foods/{food}", None),
        ("DELETE", f"/v1/children/{child}", None),
    ]
    statuses = [home.ask(method, path, sent, if_match="*").status_code for method, path, sent in asked]
    statuses.append(home.ask("GET", "/v1/children", key="gibberish" + "x" * 34).status_code)
    return statuses


def test_nothing_personal_and_no_key_is_logged(home: Home, caplog: pytest.LogCaptureFixture) -> None:
    """Every logger at its most talkative, except the test client's own and the database driver's own echo."""
    with caplog.at_level(logging.DEBUG):
        statuses = _ask_much(home)
    assert statuses == [409, 422, 422, 409, 201, 422, 200, 400, 404, 200, 422, 201, 200, 409, 204, 401]
    quiet = ("httpx", "sqlalchemy")
    told = "\n".join(one.getMessage() for one in caplog.records if not one.name.startswith(quiet))
    assert [word for word in [*WORDS, home.keep, home.pack] if re.search(re.escape(word), told, re.I)] == [], told


def test_a_fault_of_ours_tells_nothing_personal(
    home: Home, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A statement that fails has its values in the database library's message: neither is logged or answered."""
    from service.store.household import records

    def broken(*anything: object, **_more: object) -> None:
        raise RuntimeError(f"values: {anything}")

    monkeypatch.setattr(records, "insert", broken)
    with caplog.at_level(logging.INFO):
        answer = home.ask("POST", "/v1/children", child_body("Zebulonia"))
    assert answer.status_code == 500
    assert "Zebulonia" not in answer.text + caplog.text


def test_addresses_hold_ids_days_and_cursors_only() -> None:
    """Whatever a household's routes take in their address, by the document."""
    taken = {
        parameter["name"]
        for path in openapi_document()["paths"].values()
        for operation in path.values()
        if "household" in operation["tags"]
        for parameter in operation.get("parameters", [])
        if parameter["in"] in ("path", "query")
    }
    assert {name for name in taken if not name.endswith("_id")} == {
        "limit", "cursor", "child", "children", "offer", "week", "ids", "date", "on", "from", "to",
    }  # fmt: skip
