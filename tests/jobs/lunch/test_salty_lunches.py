"""A lunch or a week with far too much salt: what a sensible parent would change first. What is sensible is our judgement.

Scotland's most for a primary lunch is 686 mg of sodium (the guidance of 2020, section 5, table 5); a ham sandwich and a packet
soup have twice that.
"""

from typing import Any

import pytest

from service.jobs.weeks.requests import WeekRequest
from service.jobs.weeks.sum_up_week import sum_up_week
from service.reference.foods.catalogue import find_food
from tests.jobs.lunch.test_families import DAYS
from tests.jobs.lunch.test_more_situations import ENGLAND, MILK
from tests.jobs.lunch.test_situations import CARE, JAPAN, SCHOOL, SCOTLAND, Situation

MOST_SODIUM_MG = 686
WATER = "water"
SALTY = {
    "sandwich-ham",
    "ham-sliced",
    "sausage-roll",
    "potato-chips",
    "soup-tomato",
    "soup-chicken-noodle",
    "soup-vegetable",
}
HAM_AND_SOUP = ["sandwich-ham", "soup-chicken-noodle", "apple", WATER]


def sodium_mg(food_id: str) -> float:
    """Of the usual portion of a food."""
    food = find_food(food_id)
    assert food is not None
    [row] = [
        one for one in Situation("", 8, [food_id], None, standard=SCOTLAND).reply()["findings"] if one["id"] == "sodium"
    ]
    return float(row["amount"])


def week(*days: list[str]) -> list[dict[str, Any]]:
    """The changes to a week of a Scottish child of eight."""
    packed = [
        {"date": on, "kind": "packed", "items": [{"food": one} for one in foods]}
        for on, foods in zip(DAYS, days, strict=True)
    ]
    request = {"standard": SCOTLAND, "week": "2026-W49", "child": {"age_years": 8}, "days": packed}
    return list(sum_up_week(WeekRequest.model_validate(request))["changes"])


@pytest.mark.parametrize(
    ("days", "salty_days"),
    [
        ([["sandwich-ham", "soup-tomato", "apple", WATER]] * 5, 5),
        ([HAM_AND_SOUP] * 3 + [["sandwich-cheese", "banana", "carrots-raw", MILK]] * 2, 3),
        ([["sandwich-ham", "soup-chicken-noodle", "apple", MILK]] * 5, 5),
        ([["sandwich-ham", "soup-vegetable", "grapes", WATER]] * 4 + [["sandwich-tuna-salad", "carrots-raw", "pear", MILK]], 4),
        ([["sandwich-ham", "potato-chips", "apple", WATER]] * 3 + [["soup-tomato", "roll-dinner", "ham-sliced", "banana", WATER]] * 2, 3),
    ],
)  # fmt: skip
def test_a_week_of_ham_and_soup_gets_less_salty_things_on_all_its_days(days: list[list[str]], salty_days: int) -> None:
    first, *_others = week(*days)
    assert first["kind"] == "swap", first["sentence"]
    assert first["instead_of"] in SALTY, first["sentence"]
    assert len(first["days"]) == salty_days, first["sentence"]
    assert sodium_mg(first["food"]) < sodium_mg(first["instead_of"]) * 0.75
    said = [*first["mends_labels"], *first["less_of"]]
    assert any("sodium" in one for one in said), said


@pytest.mark.parametrize("soup", ["soup-tomato", "soup-vegetable"])
def test_a_ham_sandwich_with_a_soup_becomes_another_sandwich(soup: str) -> None:
    first, *_others = Situation("", 8, ["sandwich-ham", soup, "apple", WATER], None, standard=SCOTLAND).reply()[
        "changes"
    ]
    assert (first["kind"], first["instead_of"]) == ("swap", "sandwich-ham"), first["sentence"]
    assert first["food"].startswith(("sandwich-", "wrap-", "pita-", "bagel-")), first["sentence"]
    assert sodium_mg(first["food"]) < MOST_SODIUM_MG
    assert "sodium" in [*first["mends_labels"], *first["less_of"]]


@pytest.mark.parametrize(
    "foods",
    [
        ["sausage-roll", "potato-chips", "fruit-punch-drink"],
        ["sandwich-ham", "soup-tomato", "fruit-punch-drink"],
        ["sandwich-ham", "apple", "fruit-punch-drink"],
        ["sandwich-cheese", "banana", "carrots-raw", "fruit-punch-drink"],
    ],
)
def test_a_sweet_or_salty_thing_goes_before_a_vegetable_comes(foods: list[str]) -> None:
    first, second, *_others = Situation("", 8, foods, None, standard=SCOTLAND).reply()["changes"]
    assert (first["kind"], first["instead_of"]) == ("swap", "fruit-punch-drink"), first["sentence"]
    came = find_food(first["food"])
    assert came is not None
    assert came.category == "milk" or came.id == WATER, first["sentence"]
    if set(foods) & SALTY:
        assert second["instead_of"] in SALTY, second["sentence"]


def test_nothing_salty_comes_more_of_where_there_is_far_too_much_salt() -> None:
    for soup in ("soup-tomato", "soup-chicken-noodle", "soup-vegetable"):
        reply = Situation("", 8, ["sandwich-ham", soup, "apple", WATER], None, standard=SCOTLAND).reply()
        for one in reply["changes"]:
            assert not (one["kind"] in ("add", "portion") and one["food"] in SALTY), one["sentence"]


@pytest.mark.parametrize(
    ("foods", "years", "never"),
    [
        (["sandwich-peanut-butter"], 8, {"grains", "recipe"}),
        (["bread-white", "jam"], 8, {"savoury-snacks"}),
        (["sandwich-jam"], 8, {"savoury-snacks"}),
        (["hummus"], 8, {"recipe"}),
        (["hummus", "carrots-raw"], 8, {"recipe"}),
    ],
)
@pytest.mark.parametrize("standard", [SCHOOL, SCOTLAND, ENGLAND, JAPAN])
def test_what_was_once_suggested_first_and_is_not_sensible(
    foods: list[str], years: int, never: set[str], standard: str
) -> None:
    first, *_others = Situation("", years, foods, None, standard=standard).reply()["changes"]
    came = find_food(first["food"])
    assert came is not None
    assert came.category not in never, first["sentence"]


@pytest.mark.parametrize(
    "foods", [["bread-whole-wheat", "apple"], ["crackers-whole-wheat", "apple"], ["sandwich-ham", "apple", WATER]]
)
@pytest.mark.parametrize(("standard", "years"), [(SCHOOL, 15), (SCOTLAND, 15), (CARE, 15)])
def test_no_sunflower_butter_for_a_fifteen_year_old(foods: list[str], standard: str, years: int) -> None:
    for one in Situation("", years, foods, None, standard=standard).reply()["changes"]:
        assert one["food"] not in ("sunflower-seed-butter", "sandwich-sunflower-jam"), one["sentence"]
