"""What is suggested for next week is what a parent would do: few days, the right ones, and as for a single lunch.

Every change is made by a program and the week summed up again in test_changes.py; here is what it says. England's rules are
those of the department's checklist (reference_data/frequencies): one portion a day of starchy food and of protein, meat on
three days, juice 150 ml a day, no confectionery.
"""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.jobs.weeks.requests import WeekRequest
from service.jobs.weeks.sum_up_week import sum_up_week
from service.reference.foods.catalogue import find_food, packable_foods
from service.reference.foods.suggesting import suggesting
from tests.jobs.making_changes import apply_week_change
from tests.jobs.weeks.test_changes import kept_days, statuses, week
from tests.strategies import SHORT_LAW

ENGLAND = "gb-eng-school-food-2014"
FOODS = [food.id for food in packable_foods() if food.units]
GOOD = [
    ["sandwich-ham", "apple", "carrots-raw", "milk-1-percent"],
    [
        {"food": "bread-whole-wheat", "quantity": 2},
        "turkey-breast-sliced",
        "applesauce-unsweetened",
        "cucumber",
        "milk-1-percent",
    ],
    ["pasta-cooked", "chicken-breast-roasted", "banana", "peas-green-cooked", "yogurt-plain-low-fat"],
    ["rice-white-cooked", "egg-hard-boiled", "applesauce-unsweetened", "pepper-red-raw", "milk-1-percent"],
    ["pasta-cooked", "salmon-canned", "kiwifruit", "corn-cooked", "milk-1-percent"],
]
"""England's rules are kept in this week, as far as they can be seen in one."""


def changes_of(request: dict[str, Any]) -> list[dict[str, Any]]:
    return list(sum_up_week(WeekRequest.model_validate(request))["changes"])


def england(days: list[list[Any]], **more: Any) -> dict[str, Any]:
    return week(ENGLAND, *days, **more)


def test_nothing_is_to_be_changed_in_a_good_week() -> None:
    reply = sum_up_week(WeekRequest.model_validate(england(GOOD)))
    assert {one["status"] for one in reply["frequencies"]} <= {"met", "not_applicable"}, reply["summary"]
    assert reply["changes"] == []


def test_one_portion_of_starchy_food_comes_on_the_day_that_has_none() -> None:
    days = [list(day) for day in GOOD]
    days[2].remove("pasta-cooked")
    added = [one for one in changes_of(england(days)) if "starchy-daily" in one["mends"]]
    assert added
    for one in added:
        assert (one["kind"], one["days"]) == ("add", ["Wednesday"])


def test_one_portion_of_meat_comes_on_a_day_without_protein() -> None:
    """Meat on two days; Wednesday has no protein at all, so it is the right one of the three without meat."""
    days = [list(day) for day in GOOD]
    days[2].remove("chicken-breast-roasted")
    added = [one for one in changes_of(england(days)) if "meat-days" in one["mends"]]
    assert added
    for one in added:
        assert (one["kind"], one["days"]) == ("add", ["Wednesday"])
        assert "protein-daily" in one["mends"]


def test_too_much_juice_is_packed_in_a_smaller_amount() -> None:
    """300 ml on Monday; at most 150 ml may be given."""
    days = [list(day) for day in GOOD]
    days[0] = [*days[0], {"food": "apple-juice", "quantity": 300, "unit": "g"}]
    less = [one for one in changes_of(england(days)) if "juice" in one["mends"]]
    assert less
    assert (less[0]["days"], less[0]["kind"]) == (["Monday"], "portion")
    assert less[0]["grams"] <= 150


def test_confectionery_is_left_out_though_a_day_was_not_logged() -> None:
    """What is known to be too much goes; whether the rule is kept stays open, as nobody knows of Friday."""
    days = [list(day) for day in GOOD]
    days[1] = [*days[1], "gum-drops"]
    request = england(days)
    request["days"] = request["days"][:4]
    (gone,) = [one for one in changes_of(request) if one["instead_of"] == "gum-drops"]
    assert (gone["kind"], gone["days"], gone["mends"], gone["days_mended"]) == ("remove", ["Tuesday"], [], 1)
    after = sum_up_week(apply_week_change(WeekRequest.model_validate(request), gone))
    assert statuses(after)["confectionery"] == "unknown"


def test_no_snack_mix_is_offered_as_fruit() -> None:
    """Raisins inside a mix of cereals are no portion of fruit, even where nothing else is at hand."""
    days = [
        [one for one in day if one not in ("apple", "applesauce-unsweetened", "banana", "kiwifruit")] for day in GOOD
    ]
    offered = ["snack-mix-seed", "trail-mix", "granola"]
    assert not [one for one in changes_of(england(days, offer=offered)) if one["kind"] == "add"]
    assert [one for one in changes_of(england(days, offer=[*offered, "apple"])) if one["food"] == "apple"]


def test_milk_that_came_back_every_day_is_not_suggested_in_any_amount() -> None:
    """Neither more of it, nor less, nor in the place of something else."""
    request = week("us-school-lunch", ["sandwich-ham", "apple", "milk-1-percent"])
    for day in request["days"]:
        day["uneaten"] = [{"item": 2, "share": 1.0}]
    assert changes_of(request)
    assert not [one for one in changes_of(request) if one["food"] == "milk-1-percent"]


def test_a_change_on_one_day_is_enough_where_one_day_lacks_it() -> None:
    """Four good days and one without vegetables: nothing is added on the good ones for the rule of each day."""
    whole = ["sandwich-turkey-cheese", "apple", "carrots-raw", "broccoli-cooked", "milk-1-percent"]
    request = week(
        "us-school-lunch", *[[*whole]] * 4, [one for one in whole if one not in ("carrots-raw", "broccoli-cooked")]
    )
    for one in changes_of({**request, "offer": ["carrots-raw"]}):
        if one["kind"] == "add" and one["mends"] == ["vegetable"]:
            assert one["days"] == ["Friday"]


@st.composite
def weeks(draw: st.DrawFn) -> dict[str, Any]:
    """Five lunches of two to five foods, by one of three standards, for a child who may avoid something."""
    day = st.lists(st.sampled_from(FOODS), min_size=2, max_size=5, unique=True)
    avoids = draw(st.lists(st.sampled_from(["milk", "egg", "peanut", "wheat", "soy", "fish"]), max_size=2, unique=True))
    made = week(
        draw(st.sampled_from(["us-school-lunch", "gb-sct-school-lunch", ENGLAND])),
        *draw(st.lists(day, min_size=5, max_size=5)),
        child={"age_years": draw(st.integers(5, 11)), "avoids": [{"allergen": one} for one in avoids]},
        dislikes=draw(st.lists(st.sampled_from(["apple", "milk", "bread", "cheese"]), max_size=2, unique=True)),
        vegetarian=draw(st.booleans()),
    )
    for one in made["days"]:
        if draw(st.booleans()):
            one["uneaten"] = [
                {"item": draw(st.integers(0, len(one["items"]) - 1)), "share": draw(st.sampled_from([0.5, 1.0]))}
            ]
    return made


@pytest.mark.property
@SHORT_LAW
@given(weeks())
def test_every_change_can_be_made_fixes_what_it_says_and_is_sensible(request: dict[str, Any]) -> None:
    """Made by a program and summed up again: never a danger more, nothing broken, something fixed, no odd amount."""
    asked = WeekRequest.model_validate(request)
    reply = sum_up_week(asked)
    lists = suggesting()
    left = {day.items[one.item].food for day in asked.days for one in day.uneaten}
    before = {(row["name"], on) for row in reply["allergens"] if row["do_not_pack"] for on in row["dates"]}
    for change in reply["changes"]:
        said = change["sentence"]
        after = sum_up_week(apply_week_change(asked, change))
        packed = {(row["name"], on) for row in after["allergens"] if row["do_not_pack"] for on in row["dates"]}
        assert packed <= before, said
        if any(":" in one or one.startswith("choking") for one in change["mends"]) or packed < before:
            continue  # it takes a danger away, whatever rules it breaks
        was, now = statuses(reply), statuses(after)
        kept = ("met", "not_applicable")
        assert {one for one in now if now[one] in kept and was[one] not in kept} == set(change["mends"]), said
        assert not [one for one in was if was[one] in kept and now[one] not in kept], said
        assert change["mends"] or change["days_mended"], said
        if not reply["frequencies"]:
            assert kept_days(after) - kept_days(reply) == change["days_mended"], said
        food = change["food"]
        if food is None:
            continue
        assert food not in left, said
        assert not find_food(food).discretionary or (change["times"] is not None and change["times"] < 1), said
        if change["kind"] in ("add", "swap"):
            for place in change["places"]:
                day = next(one for one in asked.days if one.date.isoformat() == place["date"])
                there = [find_food(one.food) for at, one in enumerate(day.items) if at != place["item"]]
                assert lists.goes_with(find_food(food), there), said
        elif change["unit"] != "g":
            before_q = change["quantity"] / change["times"]
            assert any(
                abs(one - change["quantity"]) < 1e-9
                for one in lists.other_quantities(find_food(food), round(before_q, 2), change["unit"])
            ), said
