"""Cost of a week: exact fractions rounded once, prices by their day, what has no price named (worked by hand)."""

from datetime import date, timedelta
from fractions import Fraction

import pytest

from service.domain.weeks.cost import (
    DayCost,
    MealPrice,
    Price,
    PriceBook,
    PricedDay,
    PricedItem,
    bought_cost,
    packed_cost,
    rounded,
    week_cost,
)

BREAD = [Price(date(2026, 11, 1), 300, 600_000), Price(date(2026, 12, 2), 360, 600_000)]


@pytest.mark.parametrize(("on", "exact"), [(date(2026, 12, 1), 32), (date(2026, 12, 2), Fraction(384, 10))])
def test_the_latest_price_begun_counts(on: date, exact: Fraction) -> None:
    """64 of 600 g: 64/600 x 300 = 32; x 360 = 38.4."""
    assert packed_cost([PricedItem("bread", ("bread-white", "bread"), 64_000)], {"bread": BREAD}, on).exact == exact


def test_before_the_first_price_a_food_is_unpriced() -> None:
    cost = packed_cost([PricedItem("bread", ("bread",), 64_000)], {"bread": BREAD}, date(2026, 10, 31))
    assert (cost.exact, cost.unpriced) == (0, ("bread",))


def test_thirds_are_rounded_once() -> None:
    """Three times a third of a cent is one cent, not nothing."""
    third = packed_cost([PricedItem("x", ("x",), 1)], {"x": [Price(date(2026, 1, 1), 1, 3)]}, date(2026, 1, 1)).exact
    assert (rounded(third), rounded(3 * third)) == (0, 1)
    assert (rounded(Fraction(1, 2)), rounded(Fraction(3, 2))) == (1, 2)


def test_a_school_meal_without_a_price_is_named() -> None:
    meals = [MealPrice(date(2026, 9, 1), 310)]
    assert bought_cost(meals, date(2026, 12, 1), "school meal", None) == DayCost(*(310, (), "menu"))
    assert bought_cost(meals, date(2026, 8, 31), "school meal", None) == DayCost(*(0, ("school meal",), None))


@pytest.mark.parametrize("newest_first", [False, True])
@pytest.mark.parametrize(
    ("on", "price"),
    [(date(2026, 9, 1), 310), (date(2027, 1, 3), 310), (date(2027, 1, 4), 335), (date(2027, 2, 1), 335)],
)
def test_a_school_meal_costs_the_latest_price_begun(on: date, price: int, newest_first: bool) -> None:
    """A price holds from its day until the next one, in whatever order they were sent."""
    meals = [MealPrice(date(2026, 9, 1), 310), MealPrice(date(2027, 1, 4), 335), MealPrice(date(2027, 3, 1), 350)]
    assert bought_cost(meals[::-1] if newest_first else meals, on, "school meal", None) == DayCost(*(price, (), "menu"))


def test_a_week_over_a_new_meal_price_adds_up_both() -> None:
    """Friday at 3.10 and Monday at 3.35: 6.45."""
    book = PriceBook("GBP", {}, [MealPrice(date(2026, 9, 1), 310), MealPrice(date(2027, 1, 4), 335)])
    days = [PricedDay(date(2027, 1, 1), "bought", ()), PricedDay(date(2027, 1, 4), "bought", ())]
    assert week_cost(days, book).bought == (2, 645, True)


def test_a_child_pays_its_own_price_from_its_day_on_and_the_others_the_menus() -> None:
    """0.40 from Wednesday (the most for a reduced-price lunch, 7 CFR 245.2; memory), a free meal, and 3.10 for the third."""
    monday, wednesday = date(2026, 11, 30), date(2026, 12, 2)
    meals = [MealPrice(date(2026, 9, 1), 310), MealPrice(wednesday, 40, 0), MealPrice(monday, 0, 1)]
    days = [PricedDay(monday + timedelta(place), "bought", ()) for place in range(5)]
    book = PriceBook("USD", {}, meals)
    weeks = [week_cost(days, book, child) for child in range(3)]
    assert [one.exact for one in weeks] == [2 * 310 + 3 * 40, 0, 5 * 310]
    assert [[day.meal_price for _on, day in one.days] for one in weeks] == [
        ["menu", "menu", "child", "child", "child"],
        ["child"] * 5,
        ["menu"] * 5,
    ]
    assert all(one.bought.complete for one in weeks)


def test_an_own_price_needs_no_price_on_the_menu() -> None:
    """Before it begins, nothing is known."""
    meals = [MealPrice(date(2026, 12, 1), 0, 0)]
    assert bought_cost(meals, date(2026, 12, 1), "meal", 0) == DayCost(*(0, (), "child"))
    assert bought_cost(meals, date(2026, 11, 30), "meal", 0) == DayCost(*(0, ("meal",), None))
    assert bought_cost(meals, date(2026, 12, 1), "meal", 1) == DayCost(*(0, ("meal",), None))


def test_a_meal_priced_in_another_currency_is_not_known_and_the_menus_does_not_stand_in() -> None:
    own = MealPrice(date(2026, 12, 1), 40, child=0, elsewhere="USD")
    meals = [MealPrice(date(2026, 9, 1), 310), own]
    told = bought_cost(meals, date(2026, 12, 1), "meal", 0)
    assert (told.exact, told.unpriced, told.meal_price) == (0, ("meal",), None)
    assert [one.price for one in told.not_counted] == [own]
    assert bought_cost(meals, date(2026, 12, 1), "meal", 1).exact == 310
