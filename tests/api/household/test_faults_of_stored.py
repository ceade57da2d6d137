"""Promise: a fault of what is stored points at the id that was sent for it, and says what to correct."""

from typing import Any

import pytest

from tests.api.household.homes import Home, child_body
from tests.api.problems_seen import problem_of

DAY, WEEK = "2026-12-01", "2026-W49"
BEFORE, WEEK_BEFORE = "2026-03-03", "2026-W10"
"""A day on which a child of June 2026 was not born yet."""
ITEMS = [{"food": "apple"}]
OFFER = {"groups": [{"id": "fruit", "items": ITEMS}]}


def asked_of(child: str, day: str, week: str) -> dict[str, tuple[dict[str, Any], str]]:
    """Address -> a body that names a stored child, and the pointer to the child in it."""
    at_home = {"date": day, "kind": "packed", "items": ITEMS}
    return {
        "/v1/lunch-checks": ({"child": child, "on": day, "lunch": {"items": ITEMS}}, "#/child"),
        "/v1/weekly-summaries": ({"child": child, "week": week, "days": [at_home]}, "#/child"),
        "/v1/lunches": ({"child": child, **at_home}, "#/child"),
        "/v1/offer-audits": ({"on": day, "children": [child], "offer": OFFER}, "#/children/0"),
        "/v1/portion-needs": ({"days": [day], "children": [child], "offer": OFFER}, "#/children/0"),
    }


@pytest.mark.parametrize(("birth_month", "day", "week", "code"), [
    ("2026-06", DAY, WEEK, "outside-age-groups"), ("2026-06", BEFORE, WEEK_BEFORE, "not-born-that-day"),
    ("1995-01", DAY, WEEK, "too-old-that-day"),
])  # fmt: skip
def test_an_age_that_no_rule_covers_is_a_fault_of_the_child(
    home: Home, birth_month: str, day: str, week: str, code: str
) -> None:
    """A baby, a day before it was born, a grown-up: never a place inside the child, which was not sent."""
    child = home.kept("/v1/children", child_body(birth_month=birth_month))
    for path, (body, pointer) in asked_of(child, day, week).items():
        told = problem_of(home.ask("POST", path, body), 422, "outside-age-groups", path)
        assert [(one["pointer"], one["code"]) for one in told["errors"]] == [(pointer, code)], path
        assert told["detail"].startswith(pointer[1:] + ": ")


def test_a_week_that_is_asked_by_its_address_names_the_child_there(home: Home) -> None:
    child = home.kept("/v1/children", child_body(birth_month="2026-06"))
    told = problem_of(home.ask("GET", f"/v1/children/{child}/weeks/{WEEK_BEFORE}"), 422, "outside-age-groups")
    assert [(one["pointer"], one["code"]) for one in told["errors"]] == [("child_id", "not-born-that-day")]
    assert "2026-06" in told["detail"]


def test_a_child_that_was_sent_is_pointed_into(home: Home) -> None:
    """There the age itself was sent."""
    body = {"child": {"age_months": 3}, "standard": "us-school-lunch", "on": DAY, "lunch": {"items": ITEMS}}
    told = problem_of(home.ask("POST", "/v1/lunch-checks", body), 422, "outside-age-groups")
    assert [one["pointer"] for one in told["errors"]] == ["#/child/age_months"]


def test_every_standard_that_a_child_may_have_is_named(home: Home) -> None:
    """Standards of frequencies too: for lunches by the week, and in a week's summary."""
    for path, body in (
        ("/v1/children", child_body(standard="gb-eng-school-food")),
        (
            "/v1/weekly-summaries",
            {"child": {"age_years": 8}, "standard": "gb-eng-school-food", "week": "2026-W49", "days": []},
        ),
    ):
        told = problem_of(home.ask("POST", path, body), 422, "unknown-name")
        (fault,) = told["errors"]
        assert fault["pointer"] == "#/standard"
        assert fault["params"]["near"][0] == "gb-eng-school-food-2014"
        known = home.ask("GET", "/v1/standards").json()["items"]
        assert f"Known: {', '.join(one['id'] for one in known)}." in fault["remedy"]
