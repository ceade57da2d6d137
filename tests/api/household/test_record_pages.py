"""Promise: lists come in pages that hold everything once, whatever is kept meanwhile."""

import pytest

from tests.api.household.homes import Home, child_body
from tests.api.problems_seen import problem_of


def test_pages_hold_everything_once(home: Home) -> None:
    """In the order it was kept; what is kept meanwhile comes last."""
    names = [f"child {number}" for number in range(7)]
    for name in names:
        home.kept("/v1/children", child_body(name))
    seen: list[str] = []
    cursor = ""
    while True:
        page = home.ask("GET", f"/v1/children?limit=3{cursor}").json()
        assert len(page["items"]) <= 3
        seen += [one["nickname"] for one in page["items"]]
        if page["next"] is None:
            break
        if len(seen) == 3:
            home.kept("/v1/children", child_body("late"))
            first = home.ask("GET", "/v1/children?limit=1").json()["items"][0]
            home.ask("DELETE", f"/v1/children/{first['id']}", if_match="*")
        cursor = f"&cursor={page['next']}"
    assert seen == [*names, "late"]


def test_a_full_last_page_has_no_next(home: Home) -> None:
    """Exactly as many as the limit."""
    for number in range(2):
        home.kept("/v1/children", child_body(f"child {number}"))
    assert home.ask("GET", "/v1/children?limit=2").json()["next"] is None


def test_a_large_limit_is_brought_down(home: Home) -> None:
    """AIP-158: coerced, not refused."""
    assert home.ask("GET", "/v1/children?limit=100000").status_code == 200


@pytest.mark.parametrize(("query", "slug"), [
    ("limit=0", "invalid-request"), ("limit=-1", "invalid-request"), ("limit=x", "invalid-request"),
    ("limit=1.5", "invalid-request"), ("page=2", "invalid-request"), ("cursor=x", "bad-input"),
    ("cursor=", "bad-input"), ("cursor=%FF", "bad-input"), ("cursor=" + "x" * 101, "invalid-request"),
    ("cursor=AAAA", "bad-input"),
])  # fmt: skip
def test_a_parameter_that_does_not_fit_is_422(home: Home, query: str, slug: str) -> None:
    """It is named."""
    told = problem_of(home.ask("GET", f"/v1/children?{query}"), 422, slug, "/v1/children")
    assert told["errors"][0]["pointer"] == query.split("=", 1)[0]


def test_a_writing_request_takes_no_parameters(home: Home) -> None:
    """They would be passed over without a word."""
    problem_of(home.ask("POST", "/v1/children?dry=1", child_body()), 422, "invalid-request")
    assert home.ask("GET", "/v1/children").json()["items"] == []
