"""Promise: a stored child may have England's standards for its weeks, and being vegetarian is a wish, not an allergy."""

from typing import Any

import pytest

from tests.api.household.homes import Home, child_body, lunch_body
from tests.api.problems_seen import problem_of

ENGLAND, GUIDELINE = "gb-eng-school-food-2014", "gb-eng-lunch-box-guideline"
DAYS = ["2026-11-30", "2026-12-01", "2026-12-02", "2026-12-03", "2026-12-04"]
MEAT = {
    "ham-sliced",
    "sandwich-ham",
    "sandwich-tuna-salad",
    "chicken-breast-roasted",
    "soup-chicken-rice",
    "gelatin-dessert",
}


def english(home: Home, **more: Any) -> str:
    return home.kept("/v1/children", child_body(standard=ENGLAND, **more))


def week_of(home: Home, child: str) -> dict[str, Any]:
    answer = home.ask("GET", f"/v1/children/{child}/weeks/2026-W49")
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


def test_an_english_child_has_its_weeks_by_portions_and_its_lunches_by_the_guideline(home: Home) -> None:
    child = english(home)
    answer = home.ask("POST", "/v1/lunches", lunch_body(child, DAYS[0], "sandwich-ham", "apple"))
    assert answer.status_code == 201, answer.text
    lunch = answer.json()["lunch"]
    assert (lunch["found"]["standard"], lunch["judged_by"]["standard"]) == (GUIDELINE, ENGLAND)
    reply = week_of(home, child)
    assert (reply["standard"]["id"], reply["standard"]["kind"]) == (ENGLAND, "frequencies")
    check = home.ask(
        "POST", "/v1/lunch-checks", {"child": child, "on": DAYS[0], "lunch": {"items": [{"food": "apple"}]}}
    )
    assert check.json()["standard"]["id"] == GUIDELINE
    offer = {"groups": [{"id": "fruit", "items": [{"food": "apple"}, {"food": "pear"}]}]}
    audit = home.ask("POST", "/v1/offer-audits", {"children": [child], "on": DAYS[0], "offer": offer})
    assert audit.status_code == 200, audit.text


def test_another_standard_for_single_lunches_may_be_named(home: Home) -> None:
    child = english(home, lunch_standard="gb-sct-school-lunch")
    answer = home.ask("POST", "/v1/lunches", lunch_body(child, DAYS[0]))
    assert answer.json()["check"]["standard"]["id"] == "gb-sct-school-lunch"


def test_a_child_that_the_guideline_has_no_group_for_is_said_with_the_remedy(home: Home) -> None:
    """The guideline ends below 13 years; England's secondary schools do not."""
    child = english(home, birth_month="2012-03")
    told = problem_of(home.ask("POST", "/v1/lunches", lunch_body(child, DAYS[0])), 422, "bad-input")
    assert "lunch_standard" in told["errors"][0]["remedy"]
    home.ask("PATCH", f"/v1/children/{child}", {"lunch_standard": "gb-sct-school-lunch"}, if_match="*")
    home.kept("/v1/lunches", lunch_body(child, DAYS[0]))


@pytest.mark.parametrize("fields", [
    {"standard": "gb-eng"}, {"standard": ENGLAND, "age_group": "grades-k-5"}, {"standard": ENGLAND, "lunch_standard": ENGLAND},
])  # fmt: skip
def test_a_standard_or_group_that_is_not_known_is_refused(home: Home, fields: dict[str, Any]) -> None:
    assert home.ask("POST", "/v1/children", child_body(**fields)).status_code == 422


def test_a_vegetarian_may_be_packed_meat_and_is_judged_by_the_rules_for_vegetarians(home: Home) -> None:
    """England: no meat days are asked of a vegetarian, but protein that is not dairy on three days."""
    child = english(home, vegetarian=True)
    answer = home.ask("POST", "/v1/lunches", lunch_body(child, DAYS[0], "sandwich-ham", "apple"))
    assert answer.status_code == 201, answer.text
    for day in DAYS[1:]:
        home.kept("/v1/lunches", lunch_body(child, day, "sandwich-cheese", "apple"))
    reply = week_of(home, child)
    status = {one["id"]: one["status"] for one in reply["frequencies"]}
    assert status["meat-days"] == "not_applicable"
    assert status["vegetarian-protein-days"] == "short"
    assert not {one["food"] for one in reply["changes"]} & MEAT


@pytest.mark.parametrize("standard", [ENGLAND, "us-school-lunch", "gb-sct-school-lunch"])
def test_no_change_for_next_week_brings_in_what_a_child_dislikes_or_meat_for_a_vegetarian(
    home: Home, standard: str
) -> None:
    """Of a week with little in it; first without wishes, to see what would have been suggested."""
    child = home.kept("/v1/children", child_body(standard=standard))
    for day in DAYS:
        home.kept("/v1/lunches", lunch_body(child, day, "sandwich-cheese"))
    suggested = [one for one in week_of(home, child)["changes"] if one["kind"] in ("add", "swap")]
    assert suggested
    dislikes = [one["food"] for one in suggested]
    home.ask("PATCH", f"/v1/children/{child}", {"dislikes": dislikes, "vegetarian": True}, if_match="*")
    after = {one["food"] for one in week_of(home, child)["changes"] if one["kind"] in ("add", "swap")}
    assert not after & (set(dislikes) | MEAT)


def test_a_vegetarian_child_is_not_given_meat_from_an_offer(home: Home) -> None:
    offer = {
        "groups": [
            {"id": "main", "items": [{"food": one} for one in ("sandwich-ham", "sandwich-cheese", "soup-chicken-rice")]}
        ]
    }
    child = home.kept("/v1/children", child_body(vegetarian=True))
    audit = home.ask("POST", "/v1/offer-audits", {"children": [child], "on": DAYS[0], "offer": offer}).json()
    left = {one["item"] for one in audit["children"][0]["left_out"]}
    assert left == {"sandwich-ham", "soup-chicken-rice"}
