"""A shopping list: what a parent buys, by hand."""

import csv
import io
from typing import Any

import pytest
from pydantic import ValidationError

from service.domain.errors import LunchError
from service.jobs.plan.shopping.csv import shopping_csv
from service.jobs.plan.shopping.requests import ShoppingListRequest
from service.jobs.plan.shopping.shopping_list import shopping_list

FAMILY = [{"nickname": "Rowan"}, {"nickname": "Linden", "avoids": [{"allergen": "milk"}]}]


def price(food: str, amount_minor: int, pack_grams: float, **more: Any) -> dict[str, Any]:
    base = {"food": food, "amount_minor": amount_minor, "pack_grams": pack_grams, "currency": "USD"}
    return {**base, "from": "2026-01-01", **more}


def asked(needs: list[dict[str, Any]], **more: Any) -> ShoppingListRequest:
    body = {"shop_on": "2026-11-29", "children": FAMILY, "needs": needs, **more}
    return ShoppingListRequest.model_validate(body)


def lines(reply: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """The lines by food."""
    return {line["food"]: line for day in reply["days"] for kind in day["kinds"] for line in kind["lines"]}


def test_apples_are_bought_with_their_cores_and_counted() -> None:
    """Three apples of 182 g as eaten; 10 % is core and stem (SR28 09003): 606.7 g."""
    reply = shopping_list(asked([{"food": "apple", "portions": 3, "on": "2026-12-01"}]))
    apple = lines(reply)["apple"]
    assert apple["exact_grams"] == 606.7
    assert (apple["grams"], apple["pieces"], apple["piece"]) == (607, 3, "apple")
    assert apple["waste"] == "core and stem"


def test_cooked_rice_is_bought_dry_in_whole_packs() -> None:
    """600 g of cooked rice (130 kcal per 100 g) come of 213.7 g of dry (365 kcal per 100 g)."""
    need = {"food": "rice-white-cooked", "quantity": 150, "unit": "g", "portions": 4, "on": "2026-12-01"}
    rice = lines(shopping_list(asked([need], prices=[price("sr28-20044", 199, 500)])))["sr28-20044"]
    assert rice["exact_grams"] == pytest.approx(600 * 130 / 365, abs=0.1)
    assert rice["packs"] == [{"pack_grams": 500.0, "number": 1, "amount_minor": 199}]
    assert rice["eaten_as"] == ["white rice, cooked, no salt"]


def test_what_is_bought_has_its_name_in_a_kitchen_and_the_tables_beside_it() -> None:
    """Names of SR28 (NDB numbers 20044, 11124, 16014) stay beside; a carrot that is eaten raw is bought as what it is eaten as."""
    foods = ("rice-white-cooked", "carrots-raw", "carrots-cooked", "beans-black-cooked", "apple")
    rows = lines(shopping_list(asked([{"food": one, "on": "2026-12-01"} for one in foods])))
    assert {food: (one["name"], one["table_name"]) for food, one in rows.items()} == {
        "sr28-20044": ("white rice, dry", "Rice, white, long-grain, regular, raw, enriched"),
        "sr28-11124": ("carrot, raw", "Carrots, raw"),
        "sr28-16014": ("black beans, dry", "Beans, black, mature seeds, raw"),
        "apple": ("apple", None),
    }


def test_a_food_of_the_tables_that_is_eaten_as_such_keeps_its_name() -> None:
    """Whoever names dry rice by its id in the table is told of it by that name."""
    (row,) = lines(
        shopping_list(asked([{"food": "sr28-20044", "quantity": 90, "unit": "g", "on": "2026-12-01"}]))
    ).values()
    assert (row["name"], row["table_name"]) == ("Rice, white, long-grain, regular, raw, enriched", None)


def test_a_dish_is_split_into_its_ingredients_less_what_is_there() -> None:
    """Three cheese sandwiches, one of them in the freezer, 20 g of butter at hand of 10 g needed: twice 64 g of bread."""
    reply = shopping_list(
        asked(
            [{"food": "sandwich-cheese", "portions": 3, "on": "2026-12-01"}],
            at_hand=[{"food": "sandwich-cheese"}, {"food": "butter", "quantity": 20, "unit": "g"}],
        )
    )
    assert {food: line["exact_grams"] for food, line in lines(reply).items()} == {
        "bread-whole-wheat": 128.0,
        "cheese-cheddar": 56.7,
    }
    assert {one["food"]: one["grams"] for one in reply["taken"]} == {"sandwich-cheese": 97.3, "butter": 10.0}


def test_what_has_gone_off_by_then_is_not_taken() -> None:
    need = [{"food": "banana", "on": "2026-12-04"}]
    for use_by, there in (("2026-12-04", True), ("2026-12-03", False)):
        reply = shopping_list(asked(need, at_hand=[{"food": "banana", "use_by": use_by}]))
        assert (reply["days"] == []) is there


def test_ham_for_friday_is_bought_on_a_second_day() -> None:
    """FSIS: sliced ham keeps 3 to 4 days; Sunday's would be five days old."""
    reply = shopping_list(
        asked([{"food": "ham-sliced-lean", "on": "2026-12-04"}, {"food": "raisins", "on": "2026-12-04"}])
    )
    assert [day["on"] for day in reply["days"]] == ["2026-11-29", "2026-12-03"]
    assert any("buy them on Thursday 3 December" in note for note in reply["notes"])


def test_where_shopping_then_is_not_possible_the_line_says_so() -> None:
    reply = shopping_list(asked([{"food": "ham-sliced-lean", "on": "2026-12-04"}], also_on=["2026-11-30"]))
    line = lines(reply)["ham-sliced-lean"]
    assert any("would be too old on Friday 4 December" in note for note in line["notes"])


def test_what_a_child_must_not_have_and_which_packet_to_read() -> None:
    reply = shopping_list(
        asked(
            [
                {"id": "a", "food": "yogurt-plain-whole", "on": "2026-12-01", "child": 1},
                {"food": "hummus", "on": "2026-12-01", "child": 1},
                {"food": "cheese-cheddar", "on": "2026-12-01", "child": 0},
            ]
        )
    )
    assert [(one["need"], one["need_id"], one["nickname"]) for one in reply["must_not"]] == [(0, "a", "Linden")]
    assert [(one["food"], one["children"], one["allergens"]) for one in reply["packets_to_read"]] == [
        ("hummus", ["Linden"], ["milk"])
    ]
    assert lines(reply)["cheese-cheddar"]["not_for"] == []  # it is Rowan's


def test_what_the_whole_family_may_eat_of_names_whom_it_is_not_for() -> None:
    line = lines(shopping_list(asked([{"food": "cheese-cheddar", "on": "2026-12-01"}])))["cheese-cheddar"]
    assert line["not_for"] == ["Linden"]
    assert "Not for Linden: milk." in line["notes"]


def test_cost_by_lunch_child_and_week_and_against_the_school() -> None:
    """By hand: apples at 2.00 a kilogram, 182 g eaten = 202.2 g bought = 0.40 each; 0.50 from bags of 100 g at 0.25."""
    needs = [{"food": "apple", "on": day, "child": 0} for day in ("2026-12-04", "2026-12-07")]
    packs = [price("apple", 200, 1000), price("apple", 25, 100)]
    meal = [{"amount_minor": 300, "currency": "USD", "from": "2026-01-01"}]
    cost = shopping_list(asked(needs, prices=packs, school_meal=meal))["cost"]
    assert [one["cost_minor"] for one in cost["lunches"]] == [40, 40]
    assert [(one["week"], one["cost_minor"]) for one in cost["weeks"]] == [("2026-W49", 40), ("2026-W50", 40)]
    assert cost["children"] == [
        {"nickname": "Rowan", "lunches": 2, "cost_minor": 81, "complete": True, "each_minor": 40}
    ]
    assert (cost["eaten_minor"], cost["single_packs_minor"]) == (81, 101)
    assert cost["to_pay_minor"] == 125  # five bags of 100 g cost less than the kilogram
    assert cost["school"]["saved_minor"] == 600 - 81
    assert cost["school"]["sentence"].startswith("2 lunches from home: 0.81 USD. The school's meals: 6.00 USD.")


@pytest.mark.parametrize(
    ("own", "school", "saved", "words"),
    [
        (0, 300, 300 - 81, "From home is 2.19 USD less."),
        (40, 340, 340 - 81, "From home is 2.59 USD less."),
        (None, 600, 600 - 81, "From home is 5.19 USD less."),
    ],
)
def test_a_child_with_its_own_price_is_compared_with_that(own: int | None, school: int, saved: int, words: str) -> None:
    """0.40 of apple for each of two children, 0.81 together; Rowan's meal is 3.00, Linden's its own price."""
    needs = [{"food": "apple", "on": "2026-12-04", "child": child} for child in (0, 1)]
    meal: list[dict[str, Any]] = [{"amount_minor": 300, "currency": "USD", "from": "2026-01-01"}]
    if own is not None:
        meal.append({**meal[0], "amount_minor": own, "child": 1})
    found = shopping_list(asked(needs, prices=[price("apple", 200, 1000)], school_meal=meal))["cost"]["school"]
    assert (found["school_minor"], found["saved_minor"], found["own_price_lunches"]) == (
        school,
        saved,
        int(own is not None),
    )
    assert words in found["sentence"]
    assert ("the child's own price is used" in found["sentence"]) == (own is not None)


def test_where_the_meal_is_free_nothing_is_said_to_be_less() -> None:
    """0.40 of apple costs 0.40 more than nothing; an apple that is free as well costs the same."""
    meal = [{"amount_minor": 0, "currency": "USD", "from": "2026-01-01", "child": 0}]
    needs = [{"food": "apple", "on": "2026-12-04", "child": 0}]
    dear, free = (
        shopping_list(asked(needs, prices=[price("apple", amount, 1000)], school_meal=meal))["cost"]["school"]
        for amount in (200, 0)
    )
    assert (dear["saved_minor"], free["saved_minor"]) == (-40, 0)
    assert "From home is 0.40 USD more." in dear["sentence"]
    assert "0.00 USD, the same." in free["sentence"]
    assert "less" not in dear["sentence"] + free["sentence"]


def test_a_price_of_a_child_that_is_not_asked_for_is_refused() -> None:
    meal = [{"amount_minor": 0, "currency": "USD", "from": "2026-01-01", "child": 7}]
    with pytest.raises(ValidationError, match="child"):
        asked([{"food": "apple", "on": "2026-12-04", "child": 0}], school_meal=meal)


def test_what_has_no_price_is_named_and_nothing_is_said_to_be_saved() -> None:
    needs = [{"food": "apple", "on": "2026-12-01", "child": 0}, {"food": "raisins", "on": "2026-12-01", "child": 0}]
    meal = [{"amount_minor": 300, "currency": "USD", "from": "2026-01-01"}]
    reply = shopping_list(asked(needs, prices=[price("apple", 200, 1000)], school_meal=meal))
    assert reply["unpriced"] == ["raisins, seedless"]
    assert reply["cost"]["school"]["saved_minor"] is None
    assert "what has no price comes on top (raisins, seedless)" in reply["cost"]["school"]["sentence"]


def test_each_day_of_shopping_has_its_own_prices() -> None:
    """Ham keeps three days, so it is bought twice; from 10 December the same pack of 200 g costs 2.40 instead of 2.00."""
    needs = [{"food": "ham-sliced-lean", "quantity": 100, "unit": "g", "on": on} for on in ("2026-11-30", "2026-12-14")]
    prices = [price("ham-sliced-lean", 200, 200), price("ham-sliced-lean", 240, 200, **{"from": "2026-12-10"})]
    reply = shopping_list(asked(needs, prices=prices))
    assert [(day["on"], day["cost_minor"]) for day in reply["days"]] == [("2026-11-29", 200), ("2026-12-13", 240)]
    cost = reply["cost"]
    assert (cost["to_pay_minor"], cost["eaten_minor"]) == (440, 100 + 120)
    assert [one["cost_minor"] for one in cost["lunches"]] == [100, 120]


def test_the_same_list_has_the_same_ids_in_any_order_of_what_is_wanted() -> None:
    needs = [
        {"food": "apple", "on": "2026-12-01"},
        {"food": "hummus", "on": "2026-12-02"},
        {"food": "banana", "on": "2026-12-03"},
    ]
    one, other = (lines(shopping_list(asked(rows))) for rows in (needs, needs[::-1]))
    assert {line["id"] for line in one.values()} == {line["id"] for line in other.values()}
    assert all(line["id"] == f"{line['shop_on']}:{food}" for food, line in one.items())


def test_csv_has_a_row_a_line_and_marks_what_a_spreadsheet_would_compute() -> None:
    own = {"name": "=1+1", "serving": {"grams": 30}}
    reply = shopping_list(asked([{"food": own, "on": "2026-12-01"}, {"food": "apple", "on": "2026-12-01"}]))
    rows = list(csv.DictReader(io.StringIO(shopping_csv(reply))))
    assert sorted(row["name"] for row in rows) == ["'=1+1", "apple"]


@pytest.mark.parametrize(
    ("needs", "more", "place"),
    [
        ([{"food": "aple", "on": "2026-12-01"}], {}, "/needs/0/food"),
        ([{"food": "apple", "on": "2026-12-01", "unit": "slise"}], {}, "/needs/0/unit"),
        ([{"food": "apple", "on": "2026-12-01"}], {"at_hand": [{"food": "pizzza"}]}, "/at_hand/0/food"),
        (
            [{"food": "apple", "on": "2026-12-01"}],
            {"prices": [price("apple", 1, 5), price("apple", 2, 5)]},
            "/prices/1/from",
        ),
        (
            [{"food": "apple", "on": "2026-12-01"}],
            {"prices": [price("apple", 1, 5), price("pear", 2, 5, currency="EUR")]},
            "/prices/1/currency",
        ),
    ],
)
def test_what_does_not_fit_is_named_with_its_place(
    needs: list[dict[str, Any]], more: dict[str, Any], place: str
) -> None:
    with pytest.raises(LunchError) as fault:
        shopping_list(asked(needs, **more))
    assert [one.pointer for one in fault.value.faults()] == [place]


@pytest.mark.parametrize(
    ("needs", "kind"),
    [
        ([{"food": "apple", "on": "2026-12-01", "portions": 0}], "greater_than"),
        ([{"food": "apple", "on": "2026-12-01"}] * 10_000, "too_long"),
        ([{"food": "apple", "on": "2026-11-28"}], "need_before_shopping"),
        ([{"food": "apple", "on": "2026-12-01", "made_on": "2026-12-02"}], "made_after_eaten"),
        ([{"food": "apple", "on": "2026-12-01", "child": 2}], "no_such_child"),
    ],
)
def test_bad_amounts_and_days_are_refused(needs: list[dict[str, Any]], kind: str) -> None:
    with pytest.raises(ValidationError) as fault:
        asked(needs)
    assert fault.value.errors()[0]["type"] == kind


def test_each_size_of_pack_has_its_own_days_and_the_cheapest_set_covers_what_is_missing() -> None:
    """1,100 g of pasta as bought: a kilogram at 3.00 and 500 g at 1.80 together 4.80; three of 500 g cost 5.40, two of 1 kg 6.00.

    From 2 December the kilogram is no longer sold: three packs of 500 g.
    """
    large, small = (
        price("sr28-20420", 300, 1000, until="2026-12-01"),
        price("sr28-20420", 180, 500, **{"from": "2026-06-01"}),
    )
    old = price("sr28-20420", 10, 500)  # replaced in June
    packs = [large, small, old]
    need = {"food": "sr28-20420", "quantity": 1100, "unit": "g"}
    now = lines(shopping_list(asked([{**need, "on": "2026-12-01"}], prices=packs)))["sr28-20420"]
    assert [(one["pack_grams"], one["number"]) for one in now["packs"]] == [(1000, 1), (500, 1)]
    assert now["cost_minor"] == 480
    then = asked([{**need, "on": "2026-12-03"}], prices=packs, shop_on="2026-12-02")
    later = shopping_list(then)
    assert [(one["pack_grams"], one["number"]) for one in lines(later)["sr28-20420"]["packs"]] == [(500, 3)]
    assert (lines(later)["sr28-20420"]["cost_minor"], later["cost"]["eaten_minor"]) == (540, 396)
