"""Promise: a week is priced by the prices that hold on its days, however many a household has kept.

180 g of apple are of 200 g with the core, 89 g of carrot of 100 g with what is cut off (usda-sr28, refuse 10 % and 11 %).
"""

from datetime import date, timedelta
from typing import Any
from uuid import UUID

import orjson
import pytest
from pydantic import ValidationError

from service.domain.errors import AlreadyThere, NotThere
from service.domain.weeks.words import money_message
from service.jobs.household.kinds import CHILDREN, FOODS, LUNCHES, PRICES, RECIPES
from service.jobs.household.records import keep_record, remove_record
from service.jobs.household.weeks.child_week import child_week
from service.jobs.household.weeks.week_cost import household_costs
from service.jobs.weeks.cost_rows import decimals_of
from service.reference.messages import say
from service.store.access.households import create_household
from service.store.database import Store
from service.store.household.kinds import PRICE
from service.store.household.pack_prices import of_pack
from service.store.household.prices import bodies_of_prices
from service.store.household.records import create, page
from tests.refused import refused

MONDAY = date(2026, 11, 30)


@pytest.fixture
def household(store: Store) -> UUID:
    with store.writing() as connection:
        return create_household(connection, {})


def apple(amount: int, day: date, currency: str = "EUR") -> dict[str, Any]:
    """The price of a kilogram of apples from a day on."""
    return {"what": "food", "food": "apple", "amount_minor": amount, "currency": currency, "pack_grams": 1000, "from": day.isoformat()}  # fmt: skip


def keep(store: Store, household: UUID, resource: Any, *bodies: dict[str, Any]) -> list[str]:
    with store.writing() as connection:
        asked = [resource.adapter.validate_json(orjson.dumps(body)) for body in bodies]
        return [str(keep_record(connection, resource, household, one, None).record.id) for one in asked]


def test_the_newest_price_counts_after_thousands_of_older_ones(store: Store, household: UUID) -> None:
    """1,500 prices of other things were kept before; 180 g of apples at 5.00 a kilogram are 1.00."""
    with store.writing() as connection:
        for number in range(1500):
            body = {**apple(1, date(2026, 1, 1)), "food": f"food-{number}", "until": None}
            what = of_pack(body["food"], body["pack_grams"])
            create(connection, PRICE, household, body, {"what": what, "from_day": date(2026, 1, 1)})
    keep(store, household, PRICES, apple(100, date(2026, 1, 1)), apple(500, MONDAY - timedelta(1)))
    (child,) = keep(store, household, CHILDREN, {"nickname": "J", "standard": "us-school-lunch", "birth_month": "2018-03"})  # fmt: skip
    item = {"food": "apple", "quantity": 180, "unit": "g"}
    keep(store, household, LUNCHES, {"child": child, "date": "2026-12-01", "kind": "packed", "items": [item]})
    with store.reading() as connection:
        summed = child_week(connection, CHILDREN, household, child, "2026-W49")
    assert summed["cost"]["amount_minor"] == 100
    assert summed["cost"]["unpriced"] == []


def test_the_prices_of_some_days(store: Store, household: UUID) -> None:
    """What holds on the first day and what begins by the last, in the newest currency; nothing older, nothing later."""
    days = [MONDAY + timedelta(one) for one in (-30, -10, 0, 3, 7)]
    keep(store, household, PRICES, *(apple(number, day) for number, day in enumerate(days)))
    keep(store, household, PRICES, apple(77, MONDAY - timedelta(40), "USD"))
    with store.reading() as connection:
        found = bodies_of_prices(connection, household, MONDAY - timedelta(1), MONDAY + timedelta(6))
        none = bodies_of_prices(connection, household, MONDAY - timedelta(90), MONDAY - timedelta(60))
    assert [one["amount_minor"] for one in found] == [1, 2, 3]
    assert none == []


@pytest.mark.parametrize(
    ("minor", "currency", "text"),
    [
        (123456, "USD", "1,234.56 USD"),
        (5, "EUR", "0.05 EUR"),
        (123456, "KWD", "123.456 KWD"),
        (1234, "JPY", "1,234 JPY"),
        (1234, "XOF", "1,234 XOF"),
    ],
)
def test_money_has_the_decimals_of_its_currency(minor: int, currency: str, text: str) -> None:
    """Minor units of ISO 4217: US dollar and euro 2, Kuwaiti dinar 3, yen and CFA franc (BCEAO) none."""
    assert say(money_message(minor, currency, decimals_of(currency))) == text


def own_food(name: str) -> dict[str, Any]:
    """An own food of a label, 100 g a serving."""
    return {"name": name, "serving": {"grams": 100}, "facts": {"energy_kcal": 100}}


def test_own_foods_that_share_a_name_with_each_other_or_an_id_have_each_its_price(
    store: Store, household: UUID
) -> None:
    """100 g of each at 1.00, 2.00 and 5.00 a kilogram are 0.10 and 0.20; what is only named like an id has no price."""
    (child,) = keep(store, household, CHILDREN, {"nickname": "J", "standard": "us-school-lunch", "birth_month": "2018-03"})  # fmt: skip
    first, third = keep(store, household, FOODS, own_food("bar"), own_food("apple"))
    dish = {"name": "bar", "ingredients": [{"food": "oatmeal-cooked", "grams": 100}], "portions": 1}
    (second,) = keep(store, household, RECIPES, dish)
    cheap, dear = ({**apple(one, MONDAY), "food": food} for one, food in ((100, first), (200, second)))
    keep(store, household, PRICES, cheap, dear, apple(500, MONDAY))
    items = [{"food": one, "quantity": 100, "unit": "g"} for one in (first, second, third)]
    keep(store, household, LUNCHES, {"child": child, "date": "2026-12-01", "kind": "packed", "items": items})
    with store.reading() as connection:
        summed = child_week(connection, CHILDREN, household, child, "2026-W49")
    assert (summed["cost"]["amount_minor"], summed["cost"]["unpriced"]) == (30, ["apple"])


def test_one_price_in_another_currency_does_not_take_away_the_cost_of_the_rest(store: Store, household: UUID) -> None:
    """180 g of apples at 5.00 EUR a kilogram are 1.00 EUR, though another food has a newer price in dollars."""
    pear = {**apple(900, date(2026, 12, 1), "USD"), "food": "pear"}
    carrots = {**apple(300, MONDAY), "food": "carrots-raw"}
    keep(store, household, PRICES, apple(500, MONDAY), carrots, pear)
    (child,) = keep(store, household, CHILDREN, {"nickname": "J", "standard": "us-school-lunch", "birth_month": "2018-03"})  # fmt: skip
    item = {"food": "apple", "quantity": 180, "unit": "g"}
    keep(store, household, LUNCHES, {"child": child, "date": "2026-12-01", "kind": "packed", "items": [item]})
    with store.reading() as connection:
        cost = child_week(connection, CHILDREN, household, child, "2026-W49")["cost"]
    assert (cost["currency"], cost["amount_minor"]) == ("EUR", 100)


def test_a_price_that_one_in_another_currency_replaced_is_used_no_more(store: Store, household: UUID) -> None:
    """Apples at 5.00 EUR a kilogram until their price is in dollars, two weeks before: 180 g then have no price in EUR.

    In the week before, 180 g are 1.00; 89 g of carrots at 3.00 a kilogram are 0.30 in both.
    """
    switch = MONDAY - timedelta(weeks=2)
    carrots, bananas = ({**apple(300, date(2026, 9, 1)), "food": food} for food in ("carrots-raw", "banana"))
    keep(store, household, PRICES, apple(500, date(2026, 9, 1)), carrots, bananas, apple(700, switch, "USD"))
    (child,) = keep(store, household, CHILDREN, {"nickname": "J", "standard": "us-school-lunch", "birth_month": "2018-03"})  # fmt: skip
    items = [{"food": "apple", "quantity": 180, "unit": "g"}, {"food": "carrots-raw", "quantity": 89, "unit": "g"}]
    for day in (MONDAY, switch - timedelta(7)):
        keep(store, household, LUNCHES, {"child": child, "date": day.isoformat(), "kind": "packed", "items": items})
    with store.reading() as connection:
        after, before = (child_week(connection, CHILDREN, household, child, week) for week in ("2026-W49", "2026-W46"))
        together = household_costs(connection, household, "2026-W49")
    assert (after["cost"]["currency"], after["cost"]["amount_minor"], after["cost"]["unpriced"]) == (
        "EUR",
        30,
        ["apple"],
    )
    assert (before["cost"]["currency"], before["cost"]["amount_minor"], before["cost"]["unpriced"]) == ("EUR", 130, [])
    assert together is not None
    assert (together["packed"]["amount_minor"], together["unpriced"]) == (30, ["apple"])


def test_a_currency_that_changes_twice_and_back_takes_no_price_from_before(store: Store, household: UUID) -> None:
    """Apples in dollars, three weeks before in euros, and since Monday in dollars again: of the weeks between, none is known."""
    changes = [(100, date(2026, 9, 1), "USD"), (400, MONDAY - timedelta(weeks=3), "EUR"), (500, MONDAY, "USD")]
    keep(store, household, PRICES, *(apple(*one) for one in changes))
    keep(store, household, PRICES, *({**apple(300, date(2026, 9, 1), "USD"), "food": one} for one in ("pear", "plum")))
    (child,) = keep(store, household, CHILDREN, {"nickname": "J", "standard": "us-school-lunch", "birth_month": "2018-03"})  # fmt: skip
    items = [{"food": "apple", "quantity": 180, "unit": "g"}]
    for weeks in (0, 2):
        day = (MONDAY - timedelta(weeks=weeks)).isoformat()
        keep(store, household, LUNCHES, {"child": child, "date": day, "kind": "packed", "items": items})
    with store.reading() as connection:
        week = child_week(connection, CHILDREN, household, child, "2026-W49")
        kept = bodies_of_prices(connection, household, MONDAY - timedelta(weeks=11), MONDAY + timedelta(6))
    assert [one["amount_minor"] for one in kept if one["food"] == "apple"] == [100, 400, 500]
    assert week["cost"]["amount_minor"] == 100
    told = [(one["week"], one["packed_a_day_minor"], one["packed_complete"]) for one in week["trend"]]
    assert told == [("2026-W47", None, False), ("2026-W49", 100, True)]


def test_the_lunches_of_all_children_are_added_up(store: Store, household: UUID) -> None:
    """180 g of apples at 5.00 a kilogram for one child, 90 g for the other: 1.00 and 0.50, together 1.50."""
    keep(store, household, PRICES, apple(500, MONDAY))
    body = {"standard": "us-school-lunch", "birth_month": "2018-03"}
    first, second = keep(store, household, CHILDREN, {**body, "nickname": "J"}, {**body, "nickname": "K"})
    for child, grams in ((first, 180), (second, 90)):
        item = {"food": "apple", "quantity": grams, "unit": "g"}
        keep(store, household, LUNCHES, {"child": child, "date": "2026-12-01", "kind": "packed", "items": [item]})
    with store.reading() as connection:
        cost = child_week(connection, CHILDREN, household, first, "2026-W49")["cost"]
    assert cost["amount_minor"] == 100
    assert [(one["id"], one["amount_minor"]) for one in cost["household"]["children"]] == [(first, 100), (second, 50)]
    assert cost["household"]["amount_minor"] == 150
    assert cost["household"]["sentence"] == "The lunches of 2 children of this household together: 1.50 EUR."


def meal(amount: int, day: date, **more: Any) -> dict[str, Any]:
    """The price of the school's meal from a day on."""
    return {"what": "school_meal", "amount_minor": amount, "currency": "EUR", "from": day.isoformat(), **more}


def three_children(store: Store, household: UUID) -> list[str]:
    body = {"standard": "us-school-lunch", "birth_month": "2018-03"}
    return keep(store, household, CHILDREN, *({**body, "nickname": name} for name in ("A", "B", "C")))


def test_each_child_is_priced_at_its_own_price_of_the_meal(store: Store, household: UUID) -> None:
    """Menu 3.00, from Thursday 3.20. A has none of its own, B is free, C pays 0.40 from Wednesday and no more than before from then.

    Bought Monday to Friday: A 3 x 3.00 + 2 x 3.20 = 15.40; B 0; C 2 x 3.00 + 3 x 0.40 = 7.20; together 22.60.
    """
    children = three_children(store, household)
    _first, second, third = children
    keep(
        store, household, PRICES,
        meal(300, date(2026, 9, 1)), meal(320, MONDAY + timedelta(3)),
        meal(0, date(2026, 9, 1), child=second), meal(40, MONDAY + timedelta(2), child=third),
    )  # fmt: skip
    for place in range(5):
        day = (MONDAY + timedelta(place)).isoformat()
        keep(store, household, LUNCHES, *({"child": one, "date": day, "kind": "bought"} for one in children))
    with store.reading() as connection:
        costs = household_costs(connection, household, "2026-W49")
        weeks = [child_week(connection, CHILDREN, household, one, "2026-W49")["cost"] for one in children]
    assert costs is not None
    assert [one["bought"]["amount_minor"] for one in costs["children"]] == [1540, 0, 720]
    assert [one["own_price_lunches"] for one in costs["children"]] == [0, 5, 3]
    assert (costs["bought"]["amount_minor"], costs["bought"]["complete"]) == (2260, True)
    assert [one["amount_minor"] for one in weeks] == [1540, 0, 720]
    assert [one["household"]["amount_minor"] for one in weeks] == [2260] * 3
    assert [day["meal_price"] for day in weeks[2]["days"]] == ["menu", "menu", "child", "child", "child"]
    assert weeks[1]["sentence"].endswith("On 5 days the meal is counted at this child's own price, not the menu's.")
    assert "own price" not in weeks[0]["sentence"]


def test_an_own_price_of_a_past_day_does_not_move_the_weeks_before(store: Store, household: UUID) -> None:
    """Free from this Monday on: last week's meal still cost 3.00."""
    (child, *_others) = three_children(store, household)
    keep(store, household, PRICES, meal(300, date(2026, 9, 1)), meal(0, MONDAY, child=child))
    for day in (MONDAY - timedelta(3), MONDAY):
        keep(store, household, LUNCHES, {"child": child, "date": day.isoformat(), "kind": "bought"})
    with store.reading() as connection:
        before, after = (household_costs(connection, household, week) for week in ("2026-W48", "2026-W49"))
    assert before is not None and after is not None  # noqa: PT018
    assert (before["bought"]["amount_minor"], after["bought"]["amount_minor"]) == (300, 0)


def test_with_a_child_its_own_prices_go(store: Store, household: UUID) -> None:
    """The menu's price and those of other children stay; one that names a child who is gone is refused."""
    gone, stays, _third = three_children(store, household)
    keep(
        store, household, PRICES,
        meal(300, MONDAY), meal(0, MONDAY, child=gone), meal(40, MONDAY + timedelta(1), child=gone), meal(50, MONDAY, child=stays),
    )  # fmt: skip
    with store.writing() as connection:
        remove_record(connection, CHILDREN, household, gone, lambda _version: None)
    with store.reading() as connection:
        left = page(connection, PRICE, household, None, 10)
    assert [(one.body["amount_minor"], one.body["child"]) for one in left] == [(300, None), (50, stays)]
    with refused(NotThere, match="/child"):
        keep(store, household, PRICES, meal(0, MONDAY, child=gone))


def test_two_own_prices_of_one_child_may_not_begin_on_one_day(store: Store, household: UUID) -> None:
    first, second, _third = three_children(store, household)
    keep(store, household, PRICES, meal(300, MONDAY), meal(0, MONDAY, child=first), meal(0, MONDAY, child=second))
    with refused(AlreadyThere, match="from"):
        keep(store, household, PRICES, meal(40, MONDAY, child=first))
    with pytest.raises(ValidationError, match="child"):
        keep(store, household, PRICES, {**apple(100, MONDAY), "child": first})


def apple_pack(amount: int, grams: float, day: date, **more: Any) -> dict[str, Any]:
    """The price of a pack of apples from a day on."""
    return {**apple(amount, day), "pack_grams": grams, **more}


def packed_week(store: Store, household: UUID) -> dict[str, Any]:
    """What a week costs in which 180 g of apple, 200 g with the core, are packed on each day from Monday to Friday."""
    (child, *_others) = three_children(store, household)
    item = {"food": "apple", "quantity": 180, "unit": "g"}
    for place in range(5):
        day = (MONDAY + timedelta(place)).isoformat()
        keep(store, household, LUNCHES, {"child": child, "date": day, "kind": "packed", "items": [item]})
    with store.reading() as connection:
        return child_week(connection, CHILDREN, household, child, "2026-W49")["cost"]


def test_packs_of_two_weights_hold_side_by_side_and_the_cheapest_gram_counts(store: Store, household: UUID) -> None:
    """A kilogram at 4.00; from Tuesday 500 g at 1.50, to Wednesday; from Friday 500 g at 1.00 again.

    200 g: Monday 0.80, Tuesday and Wednesday 0.60, Thursday 0.80, Friday 0.40; together 3.20.
    """
    tuesday, wednesday, friday = (MONDAY + timedelta(days) for days in (1, 2, 4))
    keep(
        store, household, PRICES,
        apple_pack(400, 1000, date(2026, 9, 1)), apple_pack(150, 500, tuesday, until=wednesday.isoformat()),
        apple_pack(100, 500, friday),
    )  # fmt: skip
    cost = packed_week(store, household)
    assert [day["amount_minor"] for day in cost["days"]] == [80, 60, 60, 80, 40]
    assert (cost["amount_minor"], cost["unpriced"], cost["not_counted"]) == (320, [], [])


def test_a_newer_price_of_one_weight_replaces_that_weight_alone(store: Store, household: UUID) -> None:
    """500 g at 1.50, from Wednesday at 5.00: from then on the kilogram at 4.00 is the cheaper gram. 0.60 twice, then 0.80."""
    keep(
        store, household, PRICES,
        apple_pack(150, 500, date(2026, 9, 1)), apple_pack(400, 1000, date(2026, 9, 1)),
        apple_pack(500, 500, MONDAY + timedelta(2)),
    )  # fmt: skip
    with refused(AlreadyThere, match="from"):
        keep(store, household, PRICES, apple_pack(160, 500.0, date(2026, 9, 1)))
    assert [day["amount_minor"] for day in packed_week(store, household)["days"]] == [60, 60, 80, 80, 80]


def test_a_price_that_ended_is_used_no_more_and_none_before_it_comes_back(store: Store, household: UUID) -> None:
    """5.00 a kilogram, from Monday 6.00 to Tuesday: 1.20 twice, then not known."""
    tuesday = (MONDAY + timedelta(1)).isoformat()
    keep(store, household, PRICES, apple(500, date(2026, 9, 1)), {**apple(600, MONDAY), "until": tuesday})
    cost = packed_week(store, household)
    assert [(day["amount_minor"], day["unpriced"]) for day in cost["days"]] == [(120, [])] * 2 + [(0, ["apple"])] * 3
    with pytest.raises(ValidationError, match="before the first day"):
        keep(store, household, PRICES, {**apple(600, MONDAY + timedelta(7)), "until": tuesday})


def test_free_meals_end_on_a_day_and_the_menus_price_counts_again(store: Store, household: UUID) -> None:
    """Menu 3.00. Free to Tuesday: Monday and Tuesday 0, then 3 x 3.00."""
    (child, *_others) = three_children(store, household)
    keep(
        store, household, PRICES,
        meal(300, date(2026, 9, 1)), meal(0, date(2026, 9, 1), child=child, until=(MONDAY + timedelta(1)).isoformat()),
    )  # fmt: skip
    for place in range(5):
        day = (MONDAY + timedelta(place)).isoformat()
        keep(store, household, LUNCHES, {"child": child, "date": day, "kind": "bought"})
    with store.reading() as connection:
        cost = child_week(connection, CHILDREN, household, child, "2026-W49")["cost"]
        together = household_costs(connection, household, "2026-W49")
    assert [(day["amount_minor"], day["meal_price"]) for day in cost["days"]] == [(0, "child")] * 2 + [
        (300, "menu")
    ] * 3
    assert together is not None
    assert (together["bought"]["amount_minor"], together["children"][0]["own_price_lunches"]) == (900, 2)


def test_a_childs_own_price_in_another_currency_is_named_and_the_menus_does_not_stand_in(
    store: Store, household: UUID
) -> None:
    """The menu is 3.00 EUR, one child pays 0.40 USD: what its meals cost is not known, and how to mend it is said."""
    _first, child, _third = three_children(store, household)
    keep(
        store, household, PRICES,
        meal(300, date(2026, 9, 1)), apple(500, date(2026, 9, 1)), meal(40, MONDAY, child=child, currency="USD"),
    )  # fmt: skip
    for day in (MONDAY - timedelta(3), MONDAY):
        keep(store, household, LUNCHES, {"child": child, "date": day.isoformat(), "kind": "bought"})
    with store.reading() as connection:
        before, cost = (
            child_week(connection, CHILDREN, household, child, week)["cost"] for week in ("2026-W48", "2026-W49")
        )
        together = household_costs(connection, household, "2026-W49")
    assert (before["amount_minor"], before["not_counted"]) == (300, [])
    assert (cost["amount_minor"], cost["unpriced"], cost["bought"]["complete"]) == (0, ["school meal"], False)
    (row,) = cost["not_counted"]
    assert (row["child"], row["amount_minor"], row["currency"], row["from"]) == ("B", 40, "USD", MONDAY.isoformat())
    assert row["code"] == "cost.own-meal-not-counted"
    assert row["sentence"].startswith("Not counted: 0.40 USD, B's own price of the school meal.")
    assert "Give this price in EUR" in cost["sentence"]
    assert "There is no price" not in cost["sentence"]
    assert together is not None
    assert together["not_counted"] == cost["not_counted"] == cost["household"]["not_counted"]
    assert together["bought"]["complete"] is False


def test_a_price_of_what_was_eaten_in_another_currency_is_named_and_others_are_not(
    store: Store, household: UUID
) -> None:
    """A kilogram at 5.00 EUR counts; a pack in dollars is named; pears in dollars, which nobody ate, are not."""
    keep(
        store, household, PRICES,
        apple(500, date(2026, 9, 1)), apple_pack(100, 500, date(2026, 8, 1), currency="USD"), meal(300, date(2026, 9, 1)),
        {**apple(300, date(2026, 8, 1), "USD"), "food": "pear"},
    )  # fmt: skip
    cost = packed_week(store, household)
    assert (cost["amount_minor"], cost["unpriced"]) == (500, [])
    assert [one["sentence"] for one in cost["not_counted"]] == [
        "Not counted: 1.00 USD for a pack of 500 g of apple. Costs are shown in EUR, and other currencies are not converted. "
        "Give this price in EUR or, if it no longer holds, give it a last day."
    ]
