"""Food-group credits against the worked examples of the agencies, line by line.

Case files: grains.toml, exhibit_a.toml, meat_alternates.toml, vegetables.toml. Each case names its
source and whether the source prints the result (printed) or only inputs and method (computed).
"""

from datetime import date
from fractions import Fraction
from typing import Any

import pytest

from service.domain.foods.crediting import credited
from service.domain.foods.food import Food
from service.domain.foods.recipes import Ingredient, compose
from service.domain.measures import MEASURE_INDEX, SCALE
from service.reference.foods.lunch_foods import lunch_foods
from tests.builders import GRAMS_PER_OUNCE, food, judged, milligrams, table, us_scheme, vector
from tests.crediting import COMPONENT_MEASURES, credits_from_amount
from tests.published.case_files import cases, ids

Case = dict[str, Any]


def weight_mg(case: Case) -> int:
    """The weight of a case or part, given in grams or ounces."""
    if "ounces" in case:
        return milligrams(Fraction(str(case["ounces"])) * GRAMS_PER_OUNCE)
    return milligrams(case["grams"])


def main_measure(component: str) -> int:
    """The measure that a component counts in first: ounce equivalents of meat, cups of vegetables."""
    return MEASURE_INDEX[COMPONENT_MEASURES[component][0][0]]


def told(one: Food, amount_mg: int, component: str) -> tuple[Fraction, Fraction]:
    """Unrounded and rounded credit of an amount of a food in a component's own measure."""
    option = next(o for o in one.credit_options if any(c.measure == main_measure(component) for c in o.credits))
    per_basis = sum(c.per_basis for c in option.credits if c.measure == main_measure(component))
    rounded = dict(credited(option, amount_mg, one.basis_mg, us_scheme()))
    return per_basis * amount_mg / one.basis_mg, Fraction(rounded.get(main_measure(component), 0), SCALE)


def hold(case: Case, unrounded: Fraction, rounded: Fraction) -> None:
    """Compare with the case: the printed quotient where there is one, then the credit."""
    if "unrounded" in case:
        off = abs(unrounded - Fraction(str(case["unrounded"])))
        assert off <= Fraction(str(case["unrounded_within"])), float(unrounded)
    assert rounded == Fraction(str(case["expect"]))


def dish_of(parts: list[Food], weights_mg: list[int]) -> Food:
    """Put parts together as a recipe, each credited its own way."""
    return compose(
        recipe_id="dish",
        name="dish",
        ingredients=[
            Ingredient(part, weight, part.credit_options[0]) for part, weight in zip(parts, weights_mg, strict=True)
        ],
    )


GROUP_CASES = cases("grains.toml", "group")
FLOUR_CASES = cases("grains.toml", "creditable")
GRAIN_DISHES = cases("grains.toml", "dish")
EXHIBIT = cases("exhibit_a.toml")


@pytest.mark.parametrize("case", GROUP_CASES, ids=ids(GROUP_CASES))
def test_a_grain_food_by_its_group(case: Case) -> None:
    grams = Fraction(us_scheme().grain_group_grams_mg[case["group"]], 1000)
    one = food("grain food", grams_per_unit={"grain": grams})
    hold(case, *told(one, weight_mg(case), "grain"))


@pytest.mark.parametrize("case", FLOUR_CASES, ids=ids(FLOUR_CASES))
def test_a_baked_food_by_its_creditable_grain(case: Case) -> None:
    grams = Fraction(us_scheme().creditable_grain_mg, 1000)
    flours = [food(f"flour {place}", grams_per_unit={"grain": grams}) for place, _grams in enumerate(case["grams"])]
    weights = [milligrams(part) for part in case["grams"]]
    hold(case, *told(dish_of(flours, weights), sum(weights), "grain"))


@pytest.mark.parametrize("case", GRAIN_DISHES, ids=ids(GRAIN_DISHES))
def test_a_recipe_shared_out_in_servings(case: Case) -> None:
    parts = [
        food("granola", grams_per_unit={"grain": round(Fraction(str(p["ounces_per_unit"])) * GRAMS_PER_OUNCE, 3)})
        for p in case["parts"]
    ]
    dish = dish_of(parts, [weight_mg(p) for p in case["parts"]])
    hold(case, *told(dish, dish.basis_mg // case["servings"], "grain"))


def test_rounding_each_flour_first_would_give_less() -> None:
    """G6: 0.736 and 0.707 rounded one by one are 0.5 and 0.5; the sum rounds to 1.25."""
    grams = Fraction(us_scheme().creditable_grain_mg, 1000)
    flour = food("flour", grams_per_unit={"grain": grams})
    assert [told(flour, milligrams(part), "grain")[1] for part in ("11.78", "11.31")] == [Fraction(1, 2)] * 2


@pytest.mark.parametrize("case", EXHIBIT, ids=ids(EXHIBIT))
def test_the_printed_table_of_grain_groups(case: Case) -> None:
    """The weight for 1 oz eq credits as 1; a printed quarter step is its quarter of it within 1 g.

    The quarter steps are rounded grams (17 g of group A is 0.773, 6 g is 0.273), so division may differ
    from the table by less than a gram.
    """
    one_oz_eq = us_scheme().grain_group_grams_mg[case["id"]]
    assert one_oz_eq == milligrams(case["grams"][0])
    one = food("grain food", grams_per_unit={"grain": Fraction(one_oz_eq, 1000)})
    assert told(one, one_oz_eq, "grain")[1] == 1
    for quarters, printed in zip((3, 2, 1), case["grams"][1:], strict=False):
        assert abs(Fraction(one_oz_eq * quarters, 4) - milligrams(printed)) < 1000


MEAT_FOODS = [case for case in cases("meat_alternates.toml") if case["kind"] != "dish"]
MEAT_DISHES = cases("meat_alternates.toml", "dish")


@pytest.mark.parametrize("case", MEAT_FOODS, ids=ids(MEAT_FOODS))
def test_a_meat_or_meat_alternate(case: Case) -> None:
    one = lunch_foods().get(case["food"])
    assert one is not None, f"{case['food']} is not a lunch food any more"
    amount = weight_mg(case)
    unrounded, rounded = told(one, amount, "meat_alternate")
    hold(case, unrounded, rounded)
    if case.get("not_one_to_one"):
        assert unrounded < amount / (GRAMS_PER_OUNCE * 1000)
    if case["kind"] == "child_care_3_5":
        findings = judged(
            table("us-child-care-lunch", "ages-3-5", date(2026, 9, 1)),
            [vector(one, Fraction(amount, 1000))],
        )
        assert findings["meat-alternate"].status == "met"
        less = judged(
            table("us-child-care-lunch", "ages-3-5", date(2026, 9, 1)),
            [vector(one, Fraction(amount, 1000) * Fraction(9, 10))],
        )
        assert less["meat-alternate"].status == "short"


@pytest.mark.parametrize("case", MEAT_DISHES, ids=ids(MEAT_DISHES))
def test_a_mixed_dish_is_summed_first_and_rounded_down_once(case: Case) -> None:
    parts = [
        food(
            f"part {place}",
            basis_g=1000,
            credits={"meat_alternate": Fraction(str(p["units_per_pound"])) / 16 * 1000 / GRAMS_PER_OUNCE},
        )
        for place, p in enumerate(case["parts"])
    ]
    dish = dish_of(parts, [weight_mg(p) for p in case["parts"]])
    hold(case, *told(dish, dish.basis_mg, "meat_alternate"))


VEGETABLE_FOODS = cases("vegetables.toml", "food")
VEGETABLE_DISHES = cases("vegetables.toml", "dish")
VOLUMES = cases("vegetables.toml", "volume")


@pytest.mark.parametrize("case", VEGETABLE_FOODS, ids=ids(VEGETABLE_FOODS))
def test_a_vegetable_or_fruit_in_its_household_measure(case: Case) -> None:
    one = lunch_foods().get(case["food"])
    assert one is not None, f"{case['food']} is not a lunch food any more"
    hold(case, *told(one, weight_mg(case), case["component"]))
    rounded = dict(credited(one.credit_options[0], weight_mg(case), one.basis_mg, us_scheme()))
    for measure, part in COMPONENT_MEASURES[case["component"]]:
        assert Fraction(rounded[MEASURE_INDEX[measure]], SCALE) == Fraction(str(case["expect"])) * part


@pytest.mark.parametrize("case", VEGETABLE_DISHES, ids=ids(VEGETABLE_DISHES))
def test_a_vegetable_in_a_dish(case: Case) -> None:
    share = 8 if case.get("leafy") else 4
    parts = [
        food(
            f"part {place}",
            basis_g=1000,
            credits={case["component"]: Fraction(str(p["quarter_cups_per_ounce"])) / share * 1000 / GRAMS_PER_OUNCE},
        )
        for place, p in enumerate(case["parts"])
    ]
    dish = dish_of(parts, [weight_mg(p) for p in case["parts"]])
    hold(case, *told(dish, dish.basis_mg, case["component"]))


@pytest.mark.parametrize("case", VOLUMES, ids=ids(VOLUMES))
def test_puree_in_a_drink_is_juice(case: Case) -> None:
    """The week's cap on juice sees it: juice less half of all vegetables must not pass 0."""
    drink = food("drink", credits={case["component"]: case["cups"]})
    hold(case, *told(drink, drink.basis_mg, case["component"]))
    findings = judged(table("us-school-lunch", "grades-k-5", date(2026, 9, 1)), [vector(drink, 100)], week=True)
    assert findings["vegetable-juice-share"].status == "over"
    other = food("vegetable", credits={"starchy": case["cups"]})
    both = [vector(drink, 100), vector(other, 100)]
    findings = judged(table("us-school-lunch", "grades-k-5", date(2026, 9, 1)), both, week=True)
    assert findings["vegetable-juice-share"].status == "met"


def test_eight_fluid_ounces_are_a_cup() -> None:
    """US customary measure; milk is served by 8 fl oz, credited as 1 cup (7 CFR 210.10(c) table 1)."""
    told_by_food = {}
    for one in lunch_foods():
        unit = one.unit("fl oz")
        if unit is None or one.unit("cup") is None or not one.credit_options:
            continue
        if one.category == "soups":  # a cup of soup is a quarter cup of vegetables
            continue
        for component in ("fluid_milk", "fruit_juice", "vegetable_juice"):
            if any(c.measure == main_measure(component) for c in one.credit_options[0].credits):
                told_by_food[one.id] = told(one, 8 * unit.grams_mg, component)[1]
    assert len(told_by_food) >= 5
    assert {one: float(cups) for one, cups in told_by_food.items() if cups != 1} == {}


def test_every_component_counts_its_own_measure() -> None:
    """A unit of a component is a unit of the measure it is named for (7 CFR 210.10(c))."""
    for component in COMPONENT_MEASURES:
        credits = {c.measure: c.per_basis for c in credits_from_amount(component, Fraction(1))}
        assert credits[main_measure(component)] == 1
