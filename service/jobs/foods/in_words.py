"""What a food comes to, in words a person can use: a usual portion's energy and groups, allergens, what is not known."""

from fractions import Fraction
from typing import Any

from service.domain.foods.food import Food, HouseholdUnit
from service.domain.measures import LABEL_MEASURES, MEASURE_INDEX, MEASURES, SCALE
from service.reference.allergens.vocabulary import vocabulary
from service.reference.foods.catalogue import find_food

ENERGY = MEASURE_INDEX["energy_kcal"]
YARDSTICK = ("bread-whole-wheat", "slice")
"""A slice of this bread is what the energy of a portion is set beside."""


def food_in_words(food: Food) -> dict[str, Any]:
    """What a usual portion of a food comes to.

    ``portion``: its name and grams. ``slices``: its energy as slices of bread, to the half; None where it is not known.
    ``groups``: the ids of the food-group credits, one list a way of counting. ``groups_known``: whether that is all;
    ``not_counted``: the foods in it whose credits are not known. ``contains``, ``may_contain``: names of allergens;
    ``label_read``: whether every other is known from its label. ``figures``: by label measure; amounts as printed or
    computed, for the portion, None where not known.
    """
    unit = _usual(food)
    share = Fraction(unit.grams_mg, food.basis_mg)
    named = food.allergens.named.items()
    names = {one.id: one.name for one in vocabulary().allergens.values()}
    return {
        "portion": {"name": unit.name, "grams": unit.grams_mg / 1000},
        "slices": _slices(food, share),
        "groups": [
            [MEASURES[credit.measure].id for credit in option.credits if credit.per_basis]
            for option in food.credit_options
        ],
        "groups_known": food.credits_known,
        "not_counted": list(food.uncredited_parts),
        "contains": [names[one] for one, seen in named if seen.level == "contains"],
        "may_contain": [names[one] for one, seen in named if seen.level == "may_contain"],
        "label_read": food.allergens.others.level == "free",
        "figures": [_figure(food, share, measure.id) for measure in LABEL_MEASURES],
    }


def _usual(food: Food) -> HouseholdUnit:
    """The usual portion, by the name that its label gives it."""
    first = food.units[0]
    named = [unit for unit in food.units[1:] if unit.grams_mg == first.grams_mg]
    return named[0] if first.name == "serving" and named else first


def _slices(food: Food, share: Fraction) -> float | None:
    value = food.nutrients[ENERGY]
    bread = find_food(YARDSTICK[0])
    slice_of = None if bread is None else bread.unit(YARDSTICK[1])
    if value is None or bread is None or slice_of is None:
        return None
    one = Fraction(bread.nutrients[ENERGY] or 0) * slice_of.grams_mg / bread.basis_mg
    return round(2 * value * share / one) / 2


def _figure(food: Food, share: Fraction, measure: str) -> dict[str, Any]:
    index = MEASURE_INDEX[measure]
    value = food.nutrients[index]
    return {
        "measure": measure,
        "label": MEASURES[index].label,
        "unit": MEASURES[index].unit,
        "amount": None if value is None else float(Fraction(value) * share / SCALE),
    }
