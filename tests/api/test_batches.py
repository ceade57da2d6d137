"""Promise: a table of lunches over HTTP gets the answers of single checks, and blocks nobody."""

import json
import threading
import time
from typing import Any

import pytest
from starlette.testclient import TestClient

from service.api.tables.replies import LunchBatchReply
from service.jobs.tables.request import MOST_ROWS
from tests.api.clients import PROBLEM, client
from tests.served import served

ADDRESS = "/v1/lunch-check-batches"
Row = dict[str, Any]
ROW: Row = {"lunch": "a", "standard": "us-school-lunch", "on": "2026-12-01", "age_years": 8, "food": "apple"}
"""The fewest fields of a row."""


def rows(count: int) -> list[Row]:
    """So many lunches of two items."""
    milk = {"food": "milk-1-percent", "quantity": 1, "unit": "cup"}
    return [{**ROW, "lunch": f"L{number}", **item} for number in range(count) for item in ({}, milk)]


def ask(service: TestClient, body: Any) -> Any:
    """A good answer, of the published shape."""
    answer = service.post(ADDRESS, json=body)
    assert answer.status_code == 200, answer.text
    LunchBatchReply.model_validate(answer.json(), strict=True)
    return answer.json()


def test_each_lunch_gets_the_answer_of_a_single_check(service: TestClient) -> None:
    """Verdict, score, findings and totals."""
    table = ask(service, {"rows": [{**row, "avoids": "milk"} for row in rows(2)]})
    single = service.post(
        "/v1/lunch-checks",
        json={
            "standard": "us-school-lunch",
            "on": "2026-12-01",
            "child": {"age_years": 8, "avoids": [{"allergen": "milk"}]},
            "lunch": {"items": [{"food": "apple"}, {"food": "milk-1-percent", "quantity": 1, "unit": "cup"}]},
            "max_changes": 0,
        },
    ).json()
    assert [one["lunch"] for one in table["lunches"]] == ["L0", "L1"]
    assert table["rejected"] == []
    for lunch in table["lunches"]:
        answer = ("verdict", "score", "score_low", "score_high")
        assert [lunch[name] for name in answer] == [single[name] for name in answer]
        assert all(lunch[name] == total["amount"] for name, total in single["totals"].items() if total["complete"])
        told = [one for one in table["findings"] if one["lunch"] == lunch["lunch"] and one["kind"] == "target"]
        targets = [one for one in single["findings"] if one["kind"] == "target"]
        for name in ("id", "status", "amount", "at_least", "at_most", "source"):
            assert [one[name] for one in told] == [one[name] for one in targets]


def test_a_value_that_cannot_be_used_rejects_its_lunch_alone(service: TestClient) -> None:
    """With a pointer into the request; the others are kept."""
    body = {"rows": [*rows(1), {**ROW, "lunch": "bad"}, {**ROW, "lunch": "bad", "food": "aple"}, {**ROW, "lunch": "c"}]}
    table = ask(service, body)
    assert [one["lunch"] for one in table["lunches"]] == ["L0", "c"]
    (fault,) = table["rejected"]
    assert (fault["lunch"], fault["pointer"], fault["value"]) == ("bad", "#/rows/3/food", "aple")
    assert body["rows"][3]["food"] == "aple"
    assert "apple" in fault["remedy"]


def test_all_rows_may_be_rejected(service: TestClient) -> None:
    """An answer, since the request is well formed."""
    table = ask(service, {"rows": [{**ROW, "quantity": 0}]})
    assert (table["lunches"], table["findings"], len(table["rejected"])) == ([], [], 1)


@pytest.mark.parametrize("wanted", ["all", "not_met", "none"])
def test_the_findings_wanted(service: TestClient, wanted: str) -> None:
    """All, those not in order, or none."""
    every = ask(service, {"rows": rows(2)})["findings"]
    told = ask(service, {"rows": rows(2), "findings": wanted})["findings"]
    fine = ("met", "not_applicable", "not_declared", "in_order")
    expected = {"all": every, "not_met": [one for one in every if one["status"] not in fine], "none": []}
    assert told == expected[wanted]
    assert len(expected["all"]) > len(expected["not_met"]) > 0


@pytest.mark.parametrize(
    ("changed", "pointer"),
    [
        ({"quantity": "1"}, "#/rows/0/quantity"),
        ({"avoid": "peanut"}, "#/rows/0/avoid"),
        ({"food": None}, "#/rows/0/food"),
        ({"lunch": ""}, "#/rows/0/lunch"),
        ({"insulated": "yes"}, "#/rows/0/insulated"),
    ],
)
def test_a_row_of_another_form_is_refused_with_the_request(service: TestClient, changed: Row, pointer: str) -> None:
    """A slip of the program that sends it, in every row of its kind."""
    answer = service.post(ADDRESS, json={"rows": [{**ROW, **changed}]})
    assert (answer.status_code, answer.headers["content-type"]) == (422, PROBLEM)
    assert [error["pointer"] for error in answer.json()["errors"]] == [pointer]


def test_a_field_twice_is_refused(service: TestClient) -> None:
    """A second avoids would drop every allergen of the first."""
    row = json.dumps({**ROW, "avoids": "peanut"}).replace('"food"', '"avoids": "", "food"')
    answer = service.post(ADDRESS, content=f'{{"rows": [{row}]}}', headers={"Content-Type": "application/json"})
    assert answer.status_code == 422
    assert "appears twice" in answer.text


@pytest.mark.parametrize(("count", "words"), [(0, "has fewer than 1"), (MOST_ROWS + 1, f"more than {MOST_ROWS:,}")])
def test_the_number_of_rows_is_limited(count: int, words: str) -> None:
    """As the document says."""
    answer = client(max_body_bytes=50_000_000).post(ADDRESS, json={"rows": [ROW] * count})
    assert answer.status_code == 422
    assert words in answer.text


def test_a_large_table_blocks_nobody() -> None:
    """While 12,000 rows are checked in a real server, other requests are answered."""
    body = json.dumps({"rows": rows(6_000)}).encode()
    done: list[tuple[float, int, int]] = []

    with served(PACKED_LUNCH_MAX_BODY_BYTES="20000000") as server:

        def send() -> None:
            status, reply = server.ask("POST", ADDRESS, body)
            done.append((time.monotonic(), status, len(json.loads(reply)["lunches"])))

        server.ask("POST", ADDRESS, json.dumps({"rows": rows(1)}).encode())  # what it needs is loaded
        sending = threading.Thread(target=send)
        sending.start()
        answered = []
        while sending.is_alive():
            began = time.monotonic()
            assert server.ask("GET", "/v1/health")[0] == 200
            answered.append((began, time.monotonic()))
        sending.join()
    finished, status, checked = done[0]
    assert (status, checked) == (200, 6_000)
    inside = [ended - began for began, ended in answered if ended < finished]
    assert len(inside) >= 5
    assert max(inside) < 0.7 * (finished - answered[0][0])
