"""Promise: a week is answered as JSON, as a page to print or as CSV, whichever is accepted; faults name their place."""

from datetime import timedelta
from typing import Any

import pytest
from starlette.testclient import TestClient

from service.api.media import best_of
from service.api.weeks.media import OFFERED
from service.api.weeks.replies import WeeklySummaryReply
from service.reference.lunch.standards import standard_ids
from service.reference.weeks.frequencies import frequency_paths
from tests.api.clients import BODY, PROBLEM
from tests.api.problems_seen import problem_of
from tests.week_days import MONDAY, bought, item, packed_week, summed, week_body

PATH = "/v1/weekly-summaries"
LUNCH = [item("bread-whole-wheat", 64), item("cheese-cheddar", 28), item("apple"), item("milk-skim", 246)]
DAYS = [*packed_week([LUNCH] * 3), bought(MONDAY + timedelta(days=3))]


def ask(service: TestClient, body: dict[str, Any], accept: str | None = None) -> Any:
    return service.post(PATH, json=body, headers={} if accept is None else {"Accept": accept})


@pytest.mark.parametrize(("accept", "media"), [
    (None, BODY),
    ("*/*", BODY),
    ("application/json", BODY),
    ("text/html", "text/html; charset=utf-8"),
    ("text/html,application/xhtml+xml,*/*;q=0.8", "text/html; charset=utf-8"),
    ("text/csv;q=0.9, text/html;q=0.2", "text/csv; charset=utf-8; header=present"),
    ("text/*;q=0.5, text/csv;q=0.6", "text/csv; charset=utf-8; header=present"),
])  # fmt: skip
def test_the_media_type_accepted_is_answered(service: TestClient, accept: str | None, media: str) -> None:
    """RFC 9110 section 12.5.1."""
    answer = ask(service, week_body(DAYS), accept)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == media
    assert "Accept" in answer.headers["vary"].split(", ")
    assert answer.headers["cache-control"] == "no-store"


def test_quality_that_is_no_number_is_none() -> None:
    assert best_of(OFFERED, "text/html;q=high, text/csv;q=0.1") == "text/csv"
    assert best_of(OFFERED, "") == BODY


@pytest.mark.parametrize("accept", ["image/png", "application/json;q=0", "text/plain, image/*;q=0.9"])
def test_what_is_not_there_is_406(service: TestClient, accept: str) -> None:
    """RFC 9110 section 15.5.7."""
    told = problem_of(ask(service, week_body(DAYS), accept), 406, "not-acceptable", PATH)
    assert "text/csv" in told["detail"]


def test_the_page_comes_with_a_policy_that_lets_nothing_run(service: TestClient) -> None:
    answer = ask(service, week_body(DAYS), "text/html")
    assert "default-src 'none'" in answer.headers["content-security-policy"]
    assert "<script" not in answer.text
    assert answer.headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize("standard", [*standard_ids(), *frequency_paths()])
def test_the_reply_is_the_jobs_in_the_published_shape(service: TestClient, standard: str) -> None:
    """Every standard, with the changes."""
    body = week_body(DAYS, standard, max_changes=3)
    answer = ask(service, body)
    WeeklySummaryReply.model_validate_json(answer.content)
    assert answer.json() == summed(DAYS, standard, max_changes=3)


def test_faults_name_their_place(service: TestClient) -> None:
    answer = ask(service, week_body([*DAYS, DAYS[0]]))
    assert answer.status_code == 422
    assert answer.headers["content-type"] == PROBLEM
    assert answer.json()["errors"][0]["pointer"] == "#/days/4/date"
    ill_formed = ask(service, week_body([{**DAYS[0], "items": []}]))
    assert ill_formed.json()["type"] == "/problems/invalid-request"
    assert ill_formed.json()["errors"][0]["pointer"] == "#/days/0"


def test_a_fault_of_a_page_is_a_problem_too(service: TestClient) -> None:
    answer = ask(service, week_body(DAYS, "no-such-standard"), "text/html")
    assert (answer.status_code, answer.headers["content-type"]) == (422, PROBLEM)
