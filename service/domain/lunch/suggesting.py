"""What a sensible parent would be willing to do: which foods a change may bring in, beside which, and how much of them.

The lists come from reference_data/foods/suggesting.toml and are our own judgement.
"""

import math
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

from service.domain.foods.food import Food, HouseholdUnit
from service.domain.measures import THOUSANDTHS

SPREAD = "spread"
LARGEST_OF_USUAL = 2
"""A portion is never raised above so many times the usual one."""
STEP = 0.5
LEAST = 0.2
"""A smaller part of a unit is not suggested."""
TIMES_OF_GRAMS = (0.5, 0.75, 1.25, 1.5, 2.0)
ROUND_GRAMS = 5


@dataclass(frozen=True, slots=True, eq=False)
class Suggesting:
    """Kinds of foods by food id; recipes are in ``of_recipes`` (compared by identity).

    ``kinds``: of each food, the kinds of which a lunch has one. ``spread_on``: foods that a spread is put on.
    ``most_counted_mg``: a counted thing that weighs more is not doubled.
    """

    kinds: Mapping[str, frozenset[str]]
    of_recipes: frozenset[str]
    spread_on: Collection[str]
    measured: Collection[str]
    halved: Collection[str]
    one_at_a_time: Collection[str]
    not_for_everybody: Collection[str]
    forms_not_made: Collection[str]
    most_counted_mg: int
    small_child_below_months: int

    def kinds_of(self, food: Food) -> frozenset[str]:
        """The kinds of a food of which a lunch has one: a second dish, milk, plain starch or spread is not suggested."""
        if food.id in self.kinds:
            return self.kinds[food.id]
        return self.of_recipes if food.kind == "recipe" else frozenset()

    def goes_with(self, food: Food, others: Collection[Food]) -> bool:
        """Whether a food may come in beside the others: no second of its kind, and a spread with something under it."""
        kinds = self.kinds_of(food)
        if any(kinds & self.kinds_of(other) for other in others):
            return False
        return SPREAD not in kinds or any(other.id in self.spread_on for other in others)

    def forms_made(self, forms: Collection[str]) -> list[str]:
        """Those of the forms that a parent makes at home."""
        return [form for form in forms if form not in self.forms_not_made]

    def other_quantities(self, food: Food, quantity: float, unit: str) -> Iterator[float]:
        """The other quantities that may be suggested, in order: counted things in whole, or by half where people halve them.

        None above what the food's portions allow, and none above the present one for discretionary foods.
        """
        if unit == "g":
            found = {_rounded(quantity * times) for times in TIMES_OF_GRAMS}
        else:
            step = STEP if self._is_measured(unit) or unit in self.halved else 1.0
            lower = math.ceil(quantity / step) * step - step
            higher = math.floor(quantity / step) * step + step
            found = {lower, lower - step, higher, higher + step}
            half, twice = quantity * 0.5, quantity * 2
            found |= {one for one in (half, twice) if one % step == 0}
        most = 0.0 if food.discretionary else self._most(food, unit)
        for one in sorted(found):
            if one > LEAST and one != quantity and (one < quantity or one <= most):
                yield one

    def smallest_portion(self, food: Food) -> HouseholdUnit:
        """The lightest household unit of a food."""
        return min(food.units, key=lambda unit: unit.grams_mg)

    def _most(self, food: Food, unit: str) -> float:
        """The largest quantity of a unit that a change may ask for."""
        if not food.units:
            return math.inf
        usual = food.units[0]
        limit = LARGEST_OF_USUAL * usual.grams_mg
        largest = max(one.grams_mg for one in food.units if one.grams_mg <= limit)
        may_double = (
            not self._is_measured(usual.name)
            and usual.name not in self.one_at_a_time
            and usual.grams_mg <= self.most_counted_mg
        )
        weight = limit if may_double else largest
        if unit == "g":
            return weight / THOUSANDTHS
        named = food.unit(unit)
        if named is None or (unit in self.one_at_a_time):
            return 1.0
        return weight / named.grams_mg

    def _is_measured(self, unit: str) -> bool:
        words = unit.split()
        return any(unit == one or one in words for one in self.measured)


def _rounded(grams: float) -> float:
    """Grams as one weighs them in a kitchen."""
    return float(round(grams / ROUND_GRAMS) * ROUND_GRAMS) if grams >= 2 * ROUND_GRAMS else float(round(grams))
