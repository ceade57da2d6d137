"""A check: every fault of its request in one answer, the age that choking goes by, and rows that name the item as sent."""

from datetime import date
from typing import Any

import pytest

from service.domain.errors import LunchError
from service.jobs.household.requests import KeptChild
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckRequest
from service.jobs.requests.people import Child


def asked(**more: Any) -> LunchCheckRequest:
    body: dict[str, Any] = {
        "standard": "us-school-lunch",
        "on": "2026-09-01",
        "child": {"age_months": 80},
        "lunch": {"items": [{"food": "grapes"}]},
        "max_changes": 0,
    }
    return LunchCheckRequest.model_validate(body | more)


def faults_of(request: LunchCheckRequest) -> list[str]:
    with pytest.raises(LunchError) as caught:
        check_lunch(request)
    return [one.pointer for one in caught.value.faults()]


ITEMS = [
    {"food": "aple"},
    {"food": "grapes", "unit": "barrel", "credit_as": "gold"},
    {"food": {"name": "bar", "serving": {"grams": 30}, "allergens": [{"allergen": "qqqq", "level": "contains"}]}},
]
OF_ITEMS = [
    "/lunch/items/0/food",
    "/lunch/items/1/unit",
    "/lunch/items/1/credit_as",
    "/lunch/items/2/food/allergens/0/allergen",
]


def test_every_fault_of_a_request_is_reported_together() -> None:
    child = {"age_group": "toddlers of Examplia", "avoids": [{"allergen": "peanutt"}]}
    more = {"child": child, "setting": {"bans": ["xyzzy"]}, "lunch": {"items": ITEMS}, "offer": ["bananna"]}
    of_names = ["/child/avoids/0/allergen", "/setting/bans/0", *OF_ITEMS, "/offer/0"]
    assert faults_of(asked(**more, on="1999-12-01")) == ["/child/age_group", "/on", *of_names]
    assert faults_of(asked(**more, standard="us-shcool-lunch")) == ["/standard", *of_names]


def test_the_age_is_reported_where_it_was_given() -> None:
    assert faults_of(asked(child={"age_months": 10})) == ["/child/age_months"]
    assert faults_of(asked(child={"age_years": 0.5})) == ["/child/age_years"]
    assert faults_of(asked(child={})) == ["/child"]


def choking(child: dict[str, Any] | Child, on: str = "2026-09-01") -> list[str]:
    """The status of each choking finding on whole grapes."""
    sent = child.model_dump(exclude_none=True) if isinstance(child, Child) else child
    request = asked(child=sent, on=on, lunch={"items": [{"food": "grapes", "form": "whole"}]})
    return [row["status"] for row in check_lunch(request)["handling"] if row["id"].startswith("choking:")]


def test_choking_goes_by_the_age_and_not_by_the_age_group_beside_it() -> None:
    """British guidance on grapes speaks of children aged 5 and under: below 72 months (dfe-food-safety)."""
    assert choking({"age_months": 71, "age_group": "grades-6-8"}) == ["do_not_pack"]
    assert choking({"age_months": 72, "age_group": "pre-k-3-5"}) == []
    assert choking({"age_group": "pre-k-3-5"}) == ["do_not_pack"]


def test_choking_goes_by_the_birth_month_of_a_kept_child() -> None:
    """Born in December 2020, taken as on its last day: 71 months old in December 2026, 72 the month after."""
    kept = KeptChild.model_validate(
        {"nickname": "a", "birth_month": "2020-12", "age_group": "grades-6-8", "standard": "us-school-lunch"}
    )
    assert choking(kept.child_on(date(2026, 12, 31)), "2026-12-31") == ["do_not_pack"]
    assert choking(kept.child_on(date(2027, 1, 1)), "2027-01-01") == []


def test_rows_name_the_item_as_it_was_sent() -> None:
    """An own food named as a food of the tables is told apart by its place and by the caller's own id."""
    own = {"name": "Grapes", "serving": {"grams": 80}, "ingredients": "Grapes, milk.", "choking_rule": "none"}
    items = [
        {"food": own, "id": "mine"},
        {"food": "milk-1-percent"},
        {"food": "grapes", "form": "whole", "id": "theirs"},
    ]
    child = {"age_months": 60, "avoids": [{"allergen": "milk"}]}
    reply = check_lunch(asked(child=child, lunch={"items": items}, max_changes=5))
    ids = {0: "mine", 1: None, 2: "theirs"}
    assert sorted(row["item"] for row in reply["items"]) == [0, 1, 2]
    assert all(row["item_id"] == ids[row["item"]] for row in (*reply["items"], *reply["allergens"]))
    assert {row["item"] for row in reply["allergens"] if row["do_not_pack"]} == {0, 1}
    (grapes,) = [row for row in reply["handling"] if row["id"].startswith("choking:")]
    assert (grapes["places"], grapes["item_ids"]) == ([2], ["theirs"])
    assert [row["item"] for row in reply["findings"] if row["kind"] == "product_rule"] == [1]
    assert reply["changes"]
    for change in reply["changes"]:
        if change["kind"] == "add":
            assert change["item"] is None
        else:
            assert ids[change["item"]] == change["item_id"]
            assert (items[change["item"]]["food"] == change["instead_of"]) == (change["item"] != 0)


def test_milk_whose_fat_is_not_known_leaves_the_rest_its_least() -> None:
    """Since 14 January 2026 the saturated fat of fluid milk does not count (Public Law 119-69).

    A whole milk with 9 g of it is known, a second milk has no figure: what is left without both may be nothing,
    so "12 % or more" would be wrong, and the score may yet be the one of the lunch whose figure is filled in.
    """

    def milk(**facts: float) -> dict[str, Any]:
        label = {"name": "milk", "serving": {"name": "cup", "grams": 244}, "product_kind": "flavoured_milk"}
        of_milk = {"credits": [{"component": "fluid_milk", "per_serving": 1}], "facts_rounded": False}
        return {
            "food": {**label, **of_milk, "facts": {"energy_kcal": 150, "added_sugars_g": 0, "sodium_mg": 100, **facts}}
        }

    def check(**facts: float) -> dict[str, Any]:
        whole = [{**milk(saturated_fat_g=9), "quantity": 3}, milk(**facts)]
        return check_lunch(asked(lunch={"items": [*whole, {"food": "apple"}]}))

    def fat(reply: dict[str, Any]) -> dict[str, Any]:
        found: dict[str, Any] = next(one for one in reply["findings"] if one["id"] == "saturated-fat")
        return found

    unknown, filled_in = check(), check(saturated_fat_g=9)
    assert fat(filled_in)["amount"] < 0.1
    assert fat(filled_in)["status"] == "met"
    assert (fat(unknown)["status"], fat(unknown)["amount_low"]) == ("unknown", 0)
    assert unknown["score_low"] <= filled_in["score"] <= unknown["score_high"]
