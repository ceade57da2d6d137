"""A plan of some weeks: what a family is told, and what holds for every plan."""

import json
from datetime import date, timedelta
from typing import Any

import pytest
from pydantic import ValidationError

from service.domain.errors import LunchError
from service.domain.stock.keeping import use_by
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.plan.weeks.plan_weeks import plan_weeks
from service.jobs.plan.weeks.requests import PlanRequest
from service.jobs.requests.lunches import LunchCheckRequest
from service.reference.foods.catalogue import find_food
from service.reference.messages import say
from service.reference.stock.keeping import keeping_rules
from tests.refused import refused

DAYS = ["2026-11-30", "2026-12-01", "2026-12-02", "2026-12-03", "2026-12-04"]
SUNDAY, WEDNESDAY = "2026-11-29", "2026-12-02"
HOLDING = {"insulated": True, "cold_sources": 2, "minutes_until_eaten": 240}
FAMILY = [
    {"nickname": "Rowan", "age_years": 8, "standard": "us-school-lunch"},
    {"nickname": "Linden", "age_years": 10, "standard": "us-school-lunch", "avoids": [{"allergen": "peanut"}]},
]
PASTA = {"food": "pasta-tomato-chickpea", "batch_portions": 4, "fridge_days": 2, "freezer_days": 60, "minutes": 30}
MUFFINS = {"food": "egg-muffin-vegetable", "batch_portions": 6, "parts": 2, "fridge_days": 2, "minutes": 40}
PRICES = [
    {"food": food, "amount_minor": cents, "currency": "USD", "pack_grams": 500, "from": "2026-01-01"}
    for food, cents in [("apple", 100), ("banana", 90), ("water", 0), ("milk-1-percent", 60)]
]


def offer(*mains: str) -> dict[str, Any]:
    """An offer with some main dishes."""
    return {
        "groups": [
            {"id": "mains", "items": [{"food": main} for main in mains]},
            {"id": "fruit", "items": [{"food": "apple", "form": "thin_slice"}, {"food": "banana"}]},
            {"id": "drinks", "items": [{"food": "milk-1-percent"}, {"food": "water"}]},
        ]
    }


def asked(**more: Any) -> dict[str, Any]:
    """A week of two offers, with two prep days."""
    return {
        "days": DAYS,
        "prep_days": [SUNDAY, WEDNESDAY],
        "children": FAMILY,
        "holding": HOLDING,
        "offers": [
            {"id": "pasta", "offer": offer("pasta-tomato-chickpea", "sandwich-sunflower-jam")},
            {"id": "muffins", "offer": offer("egg-muffin-vegetable", "sandwich-sunflower-jam")},
        ],
        "dishes": [PASTA, MUFFINS],
        **more,
    }


def given_out(**more: Any) -> dict[str, Any]:
    """Lunches for each child, from one offer."""
    foods = offer(
        "pasta-tomato-chickpea", "sandwich-sunflower-jam", "egg-muffin-vegetable", "sandwich-peanut-butter-jam"
    )
    return asked(way="lunches", offers=[{"id": "all", "offer": foods}], may_repeat=["drinks"], seconds=5, **more)


def planned(request: dict[str, Any]) -> dict[str, Any]:
    """The plan, as it is sent."""
    told: dict[str, Any] = json.loads(json.dumps(plan_weeks(PlanRequest.model_validate_json(json.dumps(request)))))
    return told


def stands(plan: dict[str, Any]) -> list[str]:
    """The offer of each day."""
    return [one["offer"] for one in plan["days"]]


def test_no_offer_stands_again_too_soon_and_what_is_settled_stands() -> None:
    plan = planned(asked(no_repeat_days=1, stands=[{"day": DAYS[1], "offer": "pasta"}]))
    assert stands(plan) == ["muffins", "pasta", "muffins", "pasta", "muffins"]
    assert [one["settled"] for one in plan["days"]] == [False, True, False, False, False]
    assert not [note for note in plan["notes"] if "too few offers" in note]
    assert "too few offers" in " ".join(planned(asked(no_repeat_days=3))["notes"])


def test_what_ends_soon_is_used_first() -> None:
    """A box of muffins that ends on Monday brings the muffins to Monday."""
    lot = {"id": "box", "food": "egg-muffin-vegetable", "grams": 500, "place": "fridge", "use_by": DAYS[0]}
    plan = planned(asked(no_repeat_days=1, stock=[lot]))
    assert stands(plan)[0] == "muffins"
    assert {(one["lot"], one["for_day"]) for one in plan["from_stock"]} == {("box", DAYS[0])}


@pytest.mark.parametrize("amounts", ["always", "usual"])
@pytest.mark.parametrize("request_of", [asked, given_out])
def test_batches_and_stock_cover_what_is_needed_or_it_is_said(request_of: Any, amounts: str) -> None:
    """For each dish up to each day: made before it and from the stock, less what is short, is at least what is needed."""
    lot = {"id": "box", "food": "pasta-tomato-chickpea", "grams": 250, "place": "freezer", "use_by": "2026-12-20"}
    plan = planned(request_of(amounts=amounts, stock=[lot]))
    for dish in (PASTA, MUFFINS):
        food = str(dish["food"])
        portion = next((one["grams"] / one["portions"] for one in plan["needs"] if one["food"] == food), 1.0)
        for day in DAYS:
            needed = sum(one["portions"] for one in plan["needs"] if one["food"] == food and one["by_day"] <= day)
            made = sum(one["portions"] for one in plan["batches"] if one["food"] == food and one["made_on"] < day)
            stock = sum(one["grams"] for one in plan["from_stock"] if one["food"] == food and one["for_day"] <= day)
            short = sum(one["portions"] for one in plan["short"] if one["food"] == food and one["by_day"] <= day)
            assert made + stock / portion + short >= needed - 1e-6, (food, day)
    assert plan["batches"]
    assert all((one["batches"] * (2 if one["food"] == MUFFINS["food"] else 1)).is_integer() for one in plan["batches"])


@pytest.mark.parametrize(("thaw_hours", "used"), [(24, True), (96, False)])
def test_stock_leaves_the_freezer_by_the_rule_of_what_is_made(thaw_hours: float, used: bool) -> None:
    """By hand: what takes four days to thaw is moved five evenings before, and a dish keeps for fewer in the fridge."""
    lot = {"id": "box", "food": "pasta-tomato-chickpea", "grams": 5_000, "place": "freezer"}
    dish = {**PASTA, "thaw_hours": thaw_hours}
    plan = planned({**asked(stock=[lot]), "offers": asked()["offers"][:1], "dishes": [dish]})
    assert bool(plan["from_stock"]) is used
    assert all(one["use_by"] >= one["for_day"] for one in plan["moves"])


@pytest.mark.parametrize(("before", "used"), [(0, True), (1, True), (2, False)])
def test_days_before_the_freezer_count_once_it_is_thawed(before: int, used: bool) -> None:
    """By hand: 3 days in the fridge (foodsafety-cold-chart), less those of before, from Monday, when it is moved for Wednesday."""
    lot = {"id": "box", "food": "chicken-breast-roasted", "grams": 5_000, "place": "freezer"}
    only = [{"id": "cold", "offer": offer("chicken-breast-roasted")}]
    one = asked(days=DAYS[2:3], stock=[{**lot, "days_before_freezing": before}], dishes=[], regions=["US"])
    plan = planned({**one, "offers": only})
    assert bool(plan["from_stock"]) is used
    assert [date.fromisoformat(each["use_by"]) for each in plan["moves"]] == [
        date(2026, 12, 3) - timedelta(days=before)
    ] * used


def test_of_two_lots_that_are_moved_together_the_day_of_the_one_that_ends_first_is_told() -> None:
    """A portion of each: one was frozen at once, the other after a day."""
    boxes = [
        {"id": str(before), "food": "chicken-breast-roasted", "grams": 85, "place": "freezer"}
        | {"days_before_freezing": before}
        for before in (1, 0)
    ]
    only = [{"id": "cold", "offer": offer("chicken-breast-roasted")}]
    plan = planned({**asked(days=DAYS[2:3], stock=boxes, dishes=[], regions=["US"]), "offers": only})
    assert len(plan["from_stock"]) == 2
    assert [one["use_by"] for one in plan["moves"]] == ["2026-12-02"]


def test_nothing_is_kept_longer_than_it_keeps() -> None:
    """By hand: pasta made on Sunday keeps in the fridge until Tuesday; for Thursday it leaves the freezer two evenings before.

    It thaws in 24 hours: what is moved on an evening is not thawed by the next morning.
    """
    only = {"days": DAYS, "prep_days": [SUNDAY], "offers": asked()["offers"][:1], "dishes": [PASTA]}
    plan = planned({**asked(), **only})
    assert {one["for_day"] for one in plan["moves"]} <= set(DAYS[1:])
    moved = sum(one["portions"] for one in plan["moves"] if one["for_day"] >= DAYS[2])
    needed = sum(one["portions"] for one in plan["needs"] if one["food"] == PASTA["food"] and one["by_day"] >= DAYS[2])
    assert moved == needed
    for one in plan["moves"]:
        assert date.fromisoformat(one["for_day"]) - date.fromisoformat(one["evening"]) == timedelta(days=2)
        assert one["use_by"] == one["for_day"]
        assert "when it was thawed" in one["use_by_rule"]
    unfrozen = planned({**asked(), **only, "dishes": [{**PASTA, "freezer_days": None, "freezes": "no"}]})
    assert {one["by_day"] for one in unfrozen["short"]} <= set(DAYS[2:])
    assert unfrozen["short"]
    assert "Add a prep day" in unfrozen["sentence"]


@pytest.mark.parametrize("request_of", [asked, given_out])
def test_planning_again_with_nothing_changed_changes_nothing(request_of: Any) -> None:
    request = request_of(no_repeat_days=1)
    first = planned(request)
    again = planned({**request, "before": first["decisions"]})
    assert again["changes"] == []
    for part in ("decisions", "days", "batches", "moves", "needs", "from_stock", "short"):
        assert again[part] == first[part], part


@pytest.mark.parametrize("request_of", [asked, given_out])
def test_what_is_locked_stays_and_every_change_is_said(request_of: Any) -> None:
    """Linden is ill on Friday: its lunch is not needed; Monday and its batch stay whatever else is asked."""
    request = request_of(no_repeat_days=1)
    first = planned(request)
    batch = first["batches"][0]
    locked = {"days": [DAYS[0]], "batches": [{"food": batch["food"], "made_on": batch["made_on"]}]}
    changed = {
        **request,
        "not_there": [{"child": 1, "days": DAYS[3:]}],
        "no_repeat_days": 0,
        "before": first["decisions"],
        "locked": locked,
    }
    again = planned(changed)
    assert again["decisions"]["days"][0] == first["decisions"]["days"][0]
    same = [one for one in again["batches"] if (one["food"], one["made_on"]) == (batch["food"], batch["made_on"])]
    assert [(one["batches"], one["locked"]) for one in same] == [(batch["batches"], True)]
    assert stands(again) == stands(first)
    said = {(one["day"], one["food"]) for one in again["changes"]}
    was = {(one["made_on"], one["food"]): one["batches"] for one in first["batches"]}
    now = {(one["made_on"], one["food"]): one["batches"] for one in again["batches"]}
    assert {key for key in was.keys() | now.keys() if was.get(key) != now.get(key)} == {
        (day, food) for day, food in said if food is not None
    }


def test_a_locked_quarter_of_a_batch_stays_where_only_whole_ones_are_made_now() -> None:
    """By hand: a quarter of a batch of 8 makes 2 portions; the day it was made for has them, none is short."""
    one = asked(days=DAYS[:1], stands=[{"day": DAYS[0], "offer": "pasta"}], prep_days=[SUNDAY], not_there=[])
    first = planned({**one, "dishes": [{**PASTA, "batch_portions": 8, "parts": 4}]})
    assert [(each["batches"], each["portions"]) for each in first["batches"]] == [(0.25, 2)]
    locked = {"batches": [{"food": PASTA["food"], "made_on": SUNDAY}]}
    dishes = [{**PASTA, "batch_portions": 8}]
    again = planned({**one, "dishes": dishes, "before": first["decisions"], "locked": locked})
    assert again["short"] == []
    assert [(each["batches"], each["portions"], each["locked"]) for each in again["batches"]] == [(0.25, 2, True)]


def test_an_offer_stands_on_more_days_before_one_prep_day_than_before_the_next() -> None:
    """Both children are away on the other days of it: what is needed on the one day that is left is counted for its own days."""
    days = [*DAYS[:2], *DAYS[3:], "2026-12-07"]  # Wednesday is a holiday
    plan = planned(
        asked(
            days=days,
            prep_days=[SUNDAY, WEDNESDAY, "2026-12-06"],
            stands=[{"day": day, "offer": "pasta"} for day in days],
            not_there=[{"child": place, "days": [DAYS[1], DAYS[4]]} for place in (0, 1)],
        )
    )
    fruit = [one for one in plan["needs"] if one["food"] in ("apple", "banana")]
    assert {one["by_day"] for one in fruit} == {DAYS[0], DAYS[3], "2026-12-07"}
    assert sum(one["portions"] for one in fruit) == 3 * len(FAMILY)


@pytest.mark.parametrize("request_of", [asked, given_out])
def test_what_the_freezer_has_for_all_days_needs_no_prep_day(request_of: Any) -> None:
    """A week in which nobody cooks: the dish comes from the freezer alone, and another dish is not on offer."""
    lot = {"id": "box", "food": "pasta-tomato-chickpea", "grams": 20_000, "place": "freezer"}
    only = [{"id": "pasta", "offer": offer("pasta-tomato-chickpea")}]
    plan = planned(request_of(prep_days=[], stock=[lot]) | {"offers": only, "dishes": [PASTA]})
    assert (plan["batches"], plan["short"]) == ([], [])
    assert {one["for_day"] for one in plan["from_stock"]} == set(DAYS)
    assert {one["for_day"] for one in plan["moves"]} == set(DAYS)


def test_each_child_gets_its_own_amounts_whoever_is_first() -> None:
    """By hand: 2 sandwiches and 1, half an apple and a whole one; of an offer so many of the larger as there are children."""
    sandwich, apple = "sandwich-turkey-cheese", "apple"
    mains = {"id": "mains", "items": [{"food": sandwich, "portions": [{"child": "Robin", "quantity": 2}]}]}
    fruit = {"id": "fruit", "items": [{"food": apple, "portions": [{"child": "Robin", "quantity": 0.5}]}]}
    robin, wren = ({"nickname": name, "age_years": 8, "standard": "us-school-lunch"} for name in ("Robin", "Wren"))
    one_of = {name: find_food(name).units[0].grams_mg / 1000 for name in (sandwich, apple)}  # type: ignore[union-attr]
    prices = [
        {"food": name, "amount_minor": 100, "currency": "USD", "pack_grams": grams, "from": "2026-01-01"}
        for name, grams in one_of.items()
    ]
    for children in ([robin, wren], [wren, robin]):
        body = {"days": DAYS[:1], "prep_days": [SUNDAY], "children": children, "holding": HOLDING, "prices": prices,
                "offers": [{"id": "all", "offer": {"groups": [mains, fruit]}}], "no_repeat_days": 0,
                "dishes": [{"food": sandwich, "batch_portions": 1, "fridge_days": 2}]}  # fmt: skip
        given = planned({**body, "way": "lunches"})
        needs = {one["food"]: (one["grams"] / one_of[one["food"]], one["portions"]) for one in given["needs"]}
        assert needs == {sandwich: (3, 3), apple: (1.5, 2)}
        assert sum(one["portions"] for one in given["batches"]) == 3
        costs = {one["child"]: one["cost_minor"] for one in given["days"][0]["lunches"]}
        assert costs == {"Robin": 256, "Wren": 211}  # a sandwich 1.00; an apple 1.00 / 0.9, with its core
        assert given["score"]["packed_minor"] == 467
        stands = planned(body)
        needs = {one["food"]: (one["grams"] / one_of[one["food"]], one["portions"]) for one in stands["needs"]}
        assert needs == {sandwich: (4, 4), apple: (2, 2)}
        assert sum(one["portions"] for one in stands["batches"]) == 4
        away = planned({**body, "not_there": [{"child": children.index(robin), "days": DAYS[:1]}]})
        assert {one["food"]: one["portions"] for one in away["needs"]} == {sandwich: 1, apple: 1}


def test_a_lunch_is_checked_in_the_amounts_of_its_child() -> None:
    """What is said of a lunch is what a check says of the amounts that the child is given, not of those that others get."""
    items = [{"food": "sandwich-turkey-cheese", "quantity": 0.1, "portions": [{"child": "Robin", "quantity": 1}]}]
    child = {"nickname": "Robin", "age_years": 8, "standard": "us-school-lunch"}
    offers = [{"id": "all", "offer": {"groups": [{"id": "mains", "items": items}]}}]
    plan = planned(asked(way="lunches", children=[child], offers=offers, dishes=[]))
    (lunch,) = plan["days"][0]["lunches"]
    whole = {"food": "sandwich-turkey-cheese", "quantity": lunch["items"][0]["quantity"]}
    body = {"on": DAYS[0], "standard": "us-school-lunch", "child": {"age_years": 8}, "max_changes": 0,
            "lunch": {"items": [whole], "holding": HOLDING}}  # fmt: skip
    check = check_lunch(LunchCheckRequest.model_validate_json(json.dumps(body)))
    assert whole["quantity"] == 1
    assert (lunch["verdict"], lunch["summary"]) == (check["verdict"], check["summary"])


SOME = {"id": "box", "food": "pasta-tomato-chickpea", "grams": 3_000, "place": "freezer"}


@pytest.mark.parametrize(
    ("stock", "dish"),
    [
        pytest.param([], {}, id="none"),
        pytest.param([SOME], {"thaw_hours": 96}, id="gone off by the time it has thawed"),
        pytest.param([{**SOME, "place": "fridge", "use_by": SUNDAY}], {}, id="past its day"),
        pytest.param([{**SOME, "grams": 30}], {}, id="less than a portion"),
    ],
)
def test_no_child_is_given_a_dish_of_which_there_is_none(stock: list[Any], dish: dict[str, Any]) -> None:
    """Nobody cooks: with a sandwich to be had, the dish is not given out only to be missing."""
    mains = [{"id": "all", "offer": offer("pasta-tomato-chickpea", "sandwich-sunflower-jam")}]
    more = {"prep_days": [], "stock": stock, "offers": mains, "dishes": [{**PASTA, **dish}], "no_repeat_days": 0}
    plan = planned(given_out() | more | {"children": FAMILY[:1]})
    assert plan["short"] == []
    given = {item["food"] for day in plan["days"] for lunch in day["lunches"] for item in lunch["items"]}
    assert "sandwich-sunflower-jam" in given
    assert "pasta-tomato-chickpea" not in given


def mains_given(plan: dict[str, Any]) -> list[list[str]]:
    """The main dish of each child, day by day."""
    return [[one["items"][0]["food"] for one in day["lunches"]] for day in plan["days"]]


@pytest.mark.parametrize(("quantity", "days"), [(1, 2), (1.5, 1), (2, 1), (3, 0)])
def test_a_dish_in_stock_is_given_as_often_as_there_is_enough_for_the_child(quantity: float, days: int) -> None:
    """By hand: two portions in the freezer, nobody cooks; half a portion takes a whole one. Nothing is given that is missing."""
    pasta = "pasta-tomato-chickpea"
    grams = find_food(pasta).units[0].grams_mg / 1000  # type: ignore[union-attr]
    mains = [{"food": pasta, "portions": [{"child": "Rowan", "quantity": quantity}]}]
    mains += [{"food": "sandwich-sunflower-jam"}]
    lot = {"id": "box", "food": pasta, "grams": 2 * grams, "place": "freezer"}
    groups = [{"id": "mains", "items": mains}, *offer()["groups"][1:]]
    cheap = [{"food": "sandwich-sunflower-jam", "amount_minor": 900, "currency": "USD", "pack_grams": 100}]
    prices = [*PRICES, *({**one, "from": "2026-01-01"} for one in cheap)]
    prices += [{"food": pasta, "amount_minor": 900, "currency": "USD", "pack_grams": 100, "from": "2026-01-01"}]
    plan = planned(
        given_out(prep_days=[], stock=[lot], no_repeat_days=0, prices=prices)
        | {"offers": [{"id": "all", "offer": {"groups": groups}}], "dishes": [PASTA], "children": FAMILY[:1]}
    )
    assert plan["short"] == []
    assert sum(pasta in some for some in mains_given(plan)) == days


def test_a_day_that_is_new_is_given_what_is_in_stock() -> None:
    """By hand: on Tuesday, which was a holiday, only the sandwich can be given: of the dish there is one portion, for Monday."""
    pasta = "pasta-tomato-chickpea"
    grams = find_food(pasta).units[0].grams_mg / 1000  # type: ignore[union-attr]
    mains = [{"id": "all", "offer": offer(pasta, "sandwich-sunflower-jam")}]
    more = {"prep_days": [], "offers": mains, "dishes": [PASTA], "no_repeat_days": 0, "children": FAMILY[:1]}
    lot = {"id": "box", "food": pasta, "grams": grams, "place": "fridge"}
    request = given_out() | more | {"days": DAYS[:1], "stock": [lot], "offers": [{"id": "all", "offer": offer(pasta)}]}
    first = planned(request)
    assert mains_given(first) == [[pasta]]
    again = {**request, **more, "days": DAYS[:2], "before": first["decisions"]}
    plan = planned(again)
    assert plan["short"] == []
    assert mains_given(plan) == [[pasta], ["sandwich-sunflower-jam"]]


def test_a_day_that_is_new_is_given_what_a_locked_batch_leaves() -> None:
    """By hand: a locked batch of one portion, which is for Monday; no more is made that day, so Tuesday, which is new, has the sandwich."""
    pasta = "pasta-tomato-chickpea"
    request = given_out(no_repeat_days=0) | {
        "prep_days": [SUNDAY],
        "children": FAMILY[:1],
        "offers": [{"id": "all", "offer": offer(pasta)}],
        "dishes": [{**PASTA, "batch_portions": 1}],
        "days": DAYS[:1],
    }
    first = planned(request)
    locked = {"batches": [{"food": pasta, "made_on": SUNDAY}]}
    again = {**request, "days": DAYS[:2], "before": first["decisions"], "locked": locked}
    plan = planned({**again, "offers": [{"id": "all", "offer": offer(pasta, "sandwich-sunflower-jam")}]})
    assert [one["batches"] for one in plan["batches"]] == [1]
    assert plan["short"] == []
    assert mains_given(plan) == [[pasta], ["sandwich-sunflower-jam"]]


def test_a_lunch_that_is_not_needed_any_more_is_said() -> None:
    """Linden is ill on Friday: that nothing changed would be wrong, and its lunch of that day is named as gone."""
    request = given_out()
    first = planned(request)
    again = planned({**request, "not_there": [{"child": 1, "days": [DAYS[4]]}], "before": first["decisions"]})
    assert "Friday 4 December: Linden needs no lunch any more." in [one["sentence"] for one in again["changes"]]
    assert again["code"] == "plan.made-again"


def test_who_buys_now_is_said_once() -> None:
    """That a child buys says already that it needs no lunch from home."""
    request = given_out(
        school_meals=[{"date": DAYS[4], "menu": {"name": "soup", "contains": "Contains celery."}}],
        buying=[{"child": 0, "most_a_week": 0}],
    )
    first = planned(request)
    buys = {"child": 0, "most_a_week": 1, "wishes": [DAYS[4]]}
    again = planned({**request, "buying": [buys], "before": first["decisions"]})
    on_friday = [one["sentence"] for one in again["changes"] if one["day"] == DAYS[4]]
    assert on_friday == ["Friday 4 December: Rowan buys the school's meal."]


def test_the_minutes_of_a_plan_are_those_of_its_batches() -> None:
    """Parts of a batch take parts of minutes: the sum is that of the whole minutes that stand at each of them."""
    quarters = [
        {"food": food, "batch_portions": 8, "parts": 4, "fridge_days": 2, "freezer_days": 30, "minutes": 6}
        for food in ("pasta-tomato-chickpea", "egg-muffin-vegetable")
    ]
    plan = planned(asked(dishes=quarters, no_repeat_days=1))
    minutes = [one["minutes"] for one in plan["batches"]]
    assert any((6 * one["batches"]) % 1 for one in plan["batches"])
    assert plan["score"]["minutes"] == sum(minutes)


def test_a_day_that_falls_away_and_another_offer_are_said() -> None:
    first = planned(asked(no_repeat_days=1))
    other = "pasta" if stands(first)[1] == "muffins" else "muffins"
    request = asked(
        no_repeat_days=0, days=DAYS[:4], stands=[{"day": DAYS[1], "offer": other}], before=first["decisions"]
    )
    again = planned(request)
    assert stands(again)[0::2] == stands(first)[0:4:2]
    sentences = [one["sentence"] for one in again["changes"]]
    assert f"Tuesday 1 December: {other} instead of {stands(first)[1]}." in sentences
    assert "Friday 4 December is not planned any more." in sentences


def test_an_allergen_never_reaches_its_child() -> None:
    """Not in a lunch, not in a meal that names it, and not in one of which nobody knows."""
    plan = planned(given_out())
    mine = [lunch for day in plan["days"] for lunch in day["lunches"] if lunch["child"] == "Linden"]
    assert len(mine) == len(DAYS)
    assert all(lunch["verdict"] != "do_not_pack" for lunch in mine)
    assert "sandwich-peanut-butter-jam" not in {item["food"] for lunch in mine for item in lunch["items"]}
    meals = [
        {"date": DAYS[0], "menu": {"name": "satay noodles", "contains": "Contains peanut."}},
        {"date": DAYS[1], "menu": {"name": "rice and beans", "may_contain": "May contain peanut."}},
        {"date": DAYS[2], "menu": {"name": "soup of the day"}},
    ]
    buying = [{"child": child, "most_a_week": 5, "wishes": DAYS} for child in (0, 1)]
    bought = planned(asked(school_meals=meals, buying=buying))
    assert [one["buyers"] for one in bought["days"]] == [["Rowan"], ["Rowan"], ["Rowan"], [], []]
    assert [(one["child"], one["day"]) for one in bought["not_bought"]] == [("Linden", day) for day in DAYS[:3]]
    assert "Ask the school" in bought["not_bought"][2]["sentence"]


def test_a_locked_day_does_not_keep_a_meal_that_has_become_wrong() -> None:
    """Linden bought on Monday; since then the menu names peanut."""
    meal = {"date": DAYS[0], "menu": {"name": "noodles", "allergens": [{"allergen": "peanut", "level": "free"}]}}
    request = asked(school_meals=[meal], buying=[{"child": 1, "most_a_week": 1, "wishes": [DAYS[0]]}])
    first = planned(request)
    assert first["days"][0]["buyers"] == ["Linden"]
    meal["menu"] = {"name": "satay noodles", "contains": "Contains peanut."}
    again = planned({**request, "before": first["decisions"], "locked": {"days": [DAYS[0]]}})
    assert again["days"][0]["buyers"] == []
    assert "does not buy" not in again["sentence"]
    assert next(one["code"] for one in again["changes"] if one["day"] == DAYS[0]) == "plan-change.buys-no-more"


def test_at_most_so_many_days_a_week_and_only_where_it_is_wished_or_cheaper() -> None:
    meals = [{"date": day, "menu": {"name": "soup"}} for day in DAYS]
    none = planned(asked(school_meals=meals, buying=[{"child": 0, "most_a_week": 5}]))
    assert all(not one["buyers"] for one in none["days"])
    two = planned(asked(school_meals=meals, buying=[{"child": 0, "most_a_week": 2, "wishes": DAYS[1:]}]))
    assert [one["day"] for one in two["days"] if one["buyers"]] == DAYS[1:3]
    other = {"child": 0, "most_a_week": 2, "wishes": DAYS[1:], "not_on": DAYS[1:3]}
    again = planned(asked(school_meals=meals, buying=[other], before=two["decisions"]))
    assert [one["day"] for one in again["days"] if one["buyers"]] == DAYS[3:5]


def test_each_lunch_given_out_passes_the_single_check_as_told() -> None:
    """Asked anew as anybody may ask it, the check says what the plan says."""
    request = given_out()
    plan = planned(request)
    forms = {"apple": "thin_slice"}
    for day in plan["days"]:
        for lunch in day["lunches"]:
            child = next(dict(one) for one in FAMILY if one["nickname"] == lunch["child"])
            items = [
                {"food": one["food"], "quantity": one["quantity"], "unit": one["unit"]}
                | ({"form": forms[one["food"]]} if one["food"] in forms else {})
                for one in lunch["items"]
            ]
            standard = child.pop("standard")
            check = check_lunch(
                LunchCheckRequest.model_validate(
                    {
                        "on": date.fromisoformat(DAYS[0]), "child": child, "standard": standard,
                        "lunch": {"items": items, "holding": HOLDING}, "max_changes": 0,
                    }
                )
            )  # fmt: skip
            assert check["verdict"] == lunch["verdict"]


def test_a_lunch_that_misses_a_target_says_by_how_much_and_never_shrugs() -> None:
    """Apples and water alone: each target is named with its share; the search says that no plan is better."""
    alone = {"groups": [{"id": "fruit", "items": [{"food": "apple", "form": "thin_slice"}]}]}
    plan = planned(asked(way="lunches", days=DAYS[:1], offers=[{"id": "a", "offer": alone}], dishes=[]))
    off = plan["days"][0]["lunches"][0]["off"]
    assert {one["label"] for one in off} >= {"fluid milk", "grains"}
    assert next(one for one in off if one["label"] == "grains")["percent"] == 100
    assert plan["search"]["proven"]
    assert plan["notes"][-1] == "No plan of these foods is better."


def test_a_search_that_is_stopped_keeps_the_best_and_shows_its_gap() -> None:
    told: list[float] = []

    def stop(now: Any) -> bool:
        told.append(now.best)
        return True

    plan = plan_weeks(PlanRequest.model_validate_json(json.dumps(given_out())), told=stop)
    assert told
    assert all(len(lunch["items"]) == 3 for day in plan["days"] for lunch in day["lunches"])
    assert plan["search"]["gap"] >= 0
    assert plan["search"]["bound"] <= plan["search"]["objective"]


def test_planned_again_it_still_says_how_far_from_the_best_it_may_be() -> None:
    """With nothing new the same lunches stay, so they cost the same; the bound holds for the first plan too."""
    first = planned(given_out())
    again = planned({**given_out(), "before": first["decisions"], "locked": {"days": DAYS}})
    assert again["search"]["objective"] == pytest.approx(first["search"]["objective"], rel=1e-3)
    assert 0 < again["search"]["bound"] <= first["search"]["objective"]
    assert {one["code"] for one in again["note_messages"]} & {"plan.proven", "plan.gap"}


def test_costs_stand_against_buying_and_what_has_no_price_is_named() -> None:
    price = [{"amount_minor": 300, "currency": "USD", "from": "2026-01-01"}]
    whole = {"groups": [{"id": "fruit", "items": [{"food": "banana"}]}, {"id": "drinks", "items": [{"food": "water"}]}]}
    plan = planned(
        asked(offers=[{"id": "a", "offer": whole}], dishes=[], prices=PRICES, school_meal=price, prep_days=[])
    )
    assert plan["score"]["all_bought_minor"] == 2 * 5 * 300
    bananas = sum(one["grams"] for one in plan["needs"] if one["food"] == "banana")
    assert plan["score"]["packed_minor"] == round(bananas / 0.64 / 500 * 90)  # with the skin, 36 % (usda-sr28 09040)
    assert planned(asked(prices=PRICES))["score"]["packed_minor"] is None


def test_a_child_whose_meal_is_free_buys_where_it_saves_and_the_other_does_not() -> None:
    """A banana (118 g, 0.33) is less than the menu's 3.00 and more than nothing; Linden's meals are free: 5 x 3.00 for Rowan."""
    menu = {"amount_minor": 300, "currency": "USD", "from": "2026-01-01"}
    whole = {"groups": [{"id": "fruit", "items": [{"food": "banana"}]}, {"id": "drinks", "items": [{"food": "water"}]}]}
    free = {"name": "rice", "allergens": [{"allergen": "peanut", "level": "free"}]}
    meals = {
        "school_meals": [{"date": day, "menu": free} for day in DAYS],
        "buying": [{"child": child, "most_a_week": 5} for child in (0, 1)],
        "offers": [{"id": "a", "offer": whole}], "dishes": [], "prices": PRICES, "prep_days": [],
    }  # fmt: skip
    own = {**menu, "amount_minor": 0, "child": 1}
    plan = planned(asked(**meals, school_meal=[menu, own]))
    assert [day["buyers"] for day in plan["days"]] == [["Linden"]] * 5
    score = plan["score"]
    assert (score["bought_minor"], score["all_bought_minor"], score["own_price_lunches"]) == (0, 5 * 300, 5)
    assert any("the child's own price is used" in one for one in score["sentences"])
    alike = planned(asked(**meals, school_meal=[menu]))["score"]
    assert (alike["bought_minor"], alike["all_bought_minor"], alike["own_price_lunches"]) == (0, 10 * 300, 0)
    assert not any("own price" in one for one in alike["sentences"])


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"dishes": [{**PASTA, "food": "soup"}]}, "/dishes/0/food"),
        ({"stands": [{"day": DAYS[0], "offer": "none"}]}, "/stands/0/offer"),
        ({"stands": [{"day": "2026-12-24", "offer": "pasta"}]}, "/stands/0/day"),
        ({"offers": [{"id": "a", "offer": offer("soup-of-stones")}]}, "/offers/0/offer/groups/0/items/0/food"),
        ({"way": "lunches"}, "/offers"),
        ({"before": {"days": []}, "locked": {"days": [DAYS[0]]}}, "/locked/days/0"),
        ({"before": {}, "locked": {"batches": [{"food": "soup", "made_on": SUNDAY}]}}, "/locked/batches/0"),
        ({"buying": [{"child": 0, "most_a_week": 1}, {"child": 0, "most_a_week": 2}]}, "/buying/1"),
    ],
)
def test_what_is_wrong_is_named_with_its_place(more: dict[str, Any], words: str) -> None:
    with refused(LunchError, match=words):
        planned(asked(**more))


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"days": [DAYS[0], "2027-01-11"]}, "plan_too_long"),
        ({"dishes": [{**PASTA, "batch_portions": 0}]}, "batch_portions"),
        ({"stock": [{"id": "a", "food": "apple", "grams": -1, "place": "fridge"}]}, "grams"),
        ({"locked": {"days": [DAYS[0]]}}, "locks parts"),
        ({"buying": [{"child": 7, "most_a_week": 1}]}, "no_such_child"),
    ],
)
def test_what_does_not_fit_is_refused(more: dict[str, Any], words: str) -> None:
    with pytest.raises(ValidationError, match=words):
        planned(asked(**more))


def test_the_days_of_a_batch_are_those_the_stock_gives_with_their_rule() -> None:
    """Left out, the rules count; the request's own days shorten them and never lengthen them."""
    bare = {"food": PASTA["food"], "batch_portions": 4}
    kept = {}
    for name, dish in {
        "bare": bare,
        "longer": {**bare, "fridge_days": 20},
        "shorter": {**bare, "fridge_days": 1},
    }.items():
        plan = planned({**asked(), "offers": asked()["offers"][:1], "dishes": [dish], "prep_days": [SUNDAY]})
        kept[name] = {one["place"]: one for batch in plan["batches"] for one in batch["keeps"]}
    stock = use_by(find_food(str(PASTA["food"])), "fridge", date.fromisoformat(SUNDAY), keeping_rules(), prepared=True)
    assert stock.day is not None
    for name in ("bare", "longer"):
        assert kept[name]["fridge"]["use_by"] == stock.day.isoformat()
        assert kept[name]["fridge"]["use_by_rule"] == say(stock.rule)
    assert kept["bare"]["freezer"]["quality_only"]
    assert kept["shorter"]["fridge"]["use_by"] == "2026-11-30"
    assert kept["shorter"]["fridge"]["use_by_rule_message"]["code"] == "keeping.as-asked"


def test_whose_guidance_counts_changes_the_days() -> None:
    """Of several regions the stricter counts."""
    last = {}
    for name, regions in {"US": ["US"], "GB": ["GB"], "both": ["US", "GB"]}.items():
        plan = planned(
            {**asked(), "regions": regions, "dishes": [{**PASTA, "fridge_days": None}], "prep_days": [SUNDAY]}
        )
        last[name] = min(
            one["use_by"] for batch in plan["batches"] for one in batch["keeps"] if one["place"] == "fridge"
        )
    assert last["both"] == min(last.values())


def test_a_dish_that_is_frozen_badly_is_not_frozen_unless_it_is_asked() -> None:
    for freezes, frozen in (("well", True), ("poor", False), ("no", False)):
        dish = {"food": PASTA["food"], "batch_portions": 4, "freezes": freezes}
        plan = planned({**asked(), "offers": asked()["offers"][:1], "dishes": [dish], "prep_days": [SUNDAY]})
        assert bool(plan["moves"]) is frozen


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"dishes": [{**PASTA, "batch_portions": 1.5}]}, "batch_portions"),
        ({"dishes": [{**PASTA, "parts": 3}]}, "parts"),
        ({"dishes": [{**PASTA, "keeps": "stones"}]}, "keeps"),
        ({"dishes": [{**PASTA, "freezes": "a bit"}]}, "freezes"),
        ({"dishes": [{**PASTA, "thaw_hours": 0}]}, "thaw_hours"),
        ({"regions": []}, "regions"),
        ({"seconds": 0}, "seconds"),
    ],
)
def test_a_dish_that_cannot_be_is_refused(more: dict[str, Any], words: str) -> None:
    with pytest.raises(ValidationError, match=words):
        planned(asked(**more))


def test_rules_that_nothing_can_keep_say_by_how_much_each_is_missed() -> None:
    """Crackers alone on both days: there is a plan, each target it misses is named, and nothing is half-kept."""
    only = {"groups": [{"id": "mains", "items": [{"food": "crackers-animal"}]}]}
    alone = {"children": FAMILY[:1], "days": DAYS[:2], "offers": [{"id": "a", "offer": only}], "dishes": []}
    plan = planned(asked(way="lunches", no_repeat_days=5) | alone)
    assert all(lunch["off"] for day in plan["days"] for lunch in day["lunches"])
    assert all(one["percent"] > 0 for day in plan["days"] for lunch in day["lunches"] for one in lunch["off"])
    assert plan["search"]["proven"]


def test_with_hardly_any_time_every_child_has_a_whole_lunch_on_every_day() -> None:
    plan = planned({**given_out(), "seconds": 0.1})
    assert [len(day["lunches"]) for day in plan["days"]] == [2] * len(DAYS)
    assert all(len(lunch["items"]) == 3 for day in plan["days"] for lunch in day["lunches"])
    assert plan["search"]["bound"] <= plan["search"]["objective"]


def test_each_lunch_given_out_says_how_its_foods_are_cut_for_the_child() -> None:
    small = {"nickname": "Wren", "age_months": 40, "standard": "us-school-lunch"}
    whole = {"groups": [{"id": "fruit", "items": [{"food": "grapes"}]}, {"id": "drinks", "items": [{"food": "water"}]}]}
    request = asked(children=[small, FAMILY[0]], way="lunches", offers=[{"id": "all", "offer": whole}], dishes=[])
    told = plan_weeks(PlanRequest.model_validate(request))
    first = {one["child"]: one for one in told["days"][0]["lunches"]}
    # Guidance for children under five: grapes lengthways into quarters (DfE, help for early years providers).
    grapes = first["Wren"]["items"][0]
    assert (grapes["form"], grapes["cut"]) == ("quartered_length", "cut lengthways into quarters")
    assert first["Rowan"]["items"][0]["cut"] == ""
    for lunch, child in ((first["Wren"], small), (first["Rowan"], FAMILY[0])):
        items = [{name: one[name] for name in ("food", "quantity", "unit", "form")} for one in lunch["items"]]
        check = {"on": DAYS[0], "standard": "us-school-lunch", "child": child, "lunch": {"items": items}}
        check["lunch"]["holding"] = HOLDING
        check["child"] = {name: value for name, value in child.items() if name != "standard"}
        assert check_lunch(LunchCheckRequest.model_validate(check))["verdict"] == lunch["verdict"]


def _read(day: str, level: str) -> list[dict[str, Any]]:
    """Packets of all that is in the sandwich, read on a day, with what they say of peanut; they hold for 90 days."""
    tick = [{"allergen": "peanut", "level": level}]
    recipe = find_food("sandwich-sunflower-jam")
    assert recipe is not None
    parts = [one.id for one in recipe.made_of]
    return [{"food": part, "read_on": day, "allergens": tick} for part in parts]


@pytest.mark.parametrize(
    ("packets", "planned"),
    [
        (_read("2026-11-28", "not_named"), True),
        (_read("2026-09-03", "not_named"), False),  # holds up to Wednesday 2 December
        (_read("2026-09-03", "contains"), False),  # what it names is not forgotten for Monday
    ],
)
def test_a_lunch_is_checked_by_the_packets_that_hold_on_its_own_day(
    packets: list[dict[str, Any]], planned: bool
) -> None:
    linden = FAMILY[1]
    mains = {"groups": [{"id": "mains", "items": [{"food": "sandwich-sunflower-jam"}, {"food": "apple"}]}]}
    request = asked(
        children=[linden], way="lunches", offers=[{"id": "all", "offer": mains}], dishes=[], packets=packets
    )
    told = plan_weeks(PlanRequest.model_validate(request | {"no_repeat_days": 0}))
    child = {name: value for name, value in linden.items() if name != "standard"}
    for day in told["days"]:
        (lunch,) = day["lunches"]
        items = [{name: one[name] for name in ("food", "quantity", "unit", "form")} for one in lunch["items"]]
        check = check_lunch(
            LunchCheckRequest.model_validate(
                {
                    "on": day["day"],
                    "standard": "us-school-lunch",
                    "child": child,
                    "lunch": {"items": items, "holding": HOLDING},
                    "packets": packets,
                }
            )
        )
        assert (lunch["verdict"], lunch["summary"]) == (check["verdict"], check["summary"]), day["day"]
        assert check["verdict"] != "do_not_pack"
    given = {item["food"] for day in told["days"] for lunch in day["lunches"] for item in lunch["items"]}
    assert ("sandwich-sunflower-jam" in given) == planned
    assert any("whole wheat bread" in note and "Read them again" in note for note in told["notes"]) != planned
