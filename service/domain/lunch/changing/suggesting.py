"""What a sensible parent would be willing to do: which foods a change may bring in, beside which, and how much of them.

The lists come from reference_data/foods/suggesting.toml and are our own judgement.
"""

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from service.domain.foods.amounts import Portion
from service.domain.foods.food import Food, HouseholdUnit
from service.domain.measures import THOUSANDTHS

SPREAD, DISH = "spread", "dish"
LARGEST_OF_USUAL = 2
"""A portion is never raised above so many times the usual one."""
STEP = 0.5
LEAST = 0.2
"""A smaller part of a unit is not suggested."""
TIMES_OF_GRAMS = (0.5, 0.75, 1.25, 1.5, 2.0)
ROUND_GRAMS = 5


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a lunch: its foods stand in for one another.

    ``covers``: the parts that a lunch has by it. ``instead``: the parts whose foods take its place, the nearer ones first;
    ``instead_of_sweets``: those that take the place of a sweet or a snack; ``also_instead``: those that take its place besides
    foods of its category where it may be packed; ``any_of_it``: whether any food of the part takes the place of one over a
    limit for such products. ``missing_points``, ``sweets_points``: by how many
    points of the score a food comes before others where the lunch lacks this part, or in the place of a sweet of this part.
    """

    id: str
    covers: frozenset[str]
    instead: tuple[frozenset[str], ...]
    instead_of_sweets: frozenset[str]
    also_instead: frozenset[str] = frozenset()
    any_of_it: bool = False
    missing_points: float = 0.0
    sweets_points: float = 0.0


@dataclass(frozen=True, slots=True)
class Points:
    """By how many points of the score a change comes before or behind another that gains as much."""

    seldom: float
    another_food: float
    another_dish: float
    under_a_spread: float


@dataclass(frozen=True, slots=True, eq=False)
class Suggesting:
    """What a parent would do, by food id; recipes are in ``of_recipes`` and ``part_of_recipes`` (compared by identity).

    ``kinds``: of each food, the kinds of which a lunch has one. ``parts``: the part of a lunch that each food is.
    ``spread_on``: foods that a spread is put on. ``no_dish_beside``: foods beside which no dish comes in. ``seldom``: foods
    that fewer families pack, and ``seldom_days`` on how many days of a week at most. ``most_counted_mg``: a counted thing that weighs more is not doubled.
    """

    kinds: Mapping[str, frozenset[str]]
    of_recipes: frozenset[str]
    parts: Mapping[str, Part]
    part_of_recipes: Part
    spread_on: Collection[str]
    no_dish_beside: Collection[str]
    seldom: Collection[str]
    only_instead: Collection[str]
    points: Points
    measured: Collection[str]
    halved: Collection[str]
    one_at_a_time: Collection[str]
    more_for_older: Collection[str]
    more_from_months: int
    seldom_days: int
    not_for_everybody: Collection[str]
    forms_not_made: Collection[str]
    most_counted_mg: int
    small_child_below_months: int

    def kinds_of(self, food: Food) -> frozenset[str]:
        """The kinds of a food of which a lunch has one: a second dish, milk, plain starch or spread is not suggested."""
        own = self.kinds.get(food.id, frozenset())
        return own | self.of_recipes if food.kind == "recipe" else own

    def goes_with(self, food: Food, others: Collection[Food], instead_of: Food | None = None) -> bool:
        """Whether a food may come in beside the others: no second of its kind or main food, and a spread on something.

        ``instead_of``: what goes for it. Of the same part of a lunch, it may stand beside whatever that stood beside: a sandwich
        beside a soup, in the place of another.
        """
        kinds = self.kinds_of(food)
        if instead_of is not None and self._nearest(instead_of, food):
            kinds -= self.kinds_of(instead_of)
        return all(self._stands_beside(kinds, other) for other in others) and self._is_spread_on(food, others)

    def fits_among(self, food: Food, groups: Sequence[Collection[Food]]) -> bool:
        """Whether a food goes with some lunch that takes one food of each group."""
        kinds = self.kinds_of(food)
        if not all(any(self._stands_beside(kinds, other) for other in group) for group in groups):
            return False
        return self._is_spread_on(food, [other for group in groups for other in group])

    def _stands_beside(self, kinds: frozenset[str], other: Food) -> bool:
        return not kinds & self.kinds_of(other) and not (DISH in kinds and other.id in self.no_dish_beside)

    def _is_spread_on(self, food: Food, others: Collection[Food]) -> bool:
        return SPREAD not in self.kinds_of(food) or self._has_under_a_spread(others)

    def part_of(self, food: Food) -> Part | None:
        """The part of a lunch that a food is; None where that is not known, as of a label."""
        if food.id in self.parts:
            return self.parts[food.id]
        return self.part_of_recipes if food.kind == "recipe" else None

    def takes_place_of(self, food: Food, other: Food) -> bool:
        """Whether ``food`` is swapped for ``other`` where nothing forbids it: alike, or what one packs for a sweet.

        A pot of seeds does not come for a sandwich: what comes covers all that what goes did.
        """
        part, into = self.part_of(food), self.part_of(other)
        if food.discretionary and part is not None:
            return into is not None and into.id in part.instead_of_sweets
        also = frozenset[str]() if part is None else part.also_instead
        covered = part is None or into is None or part.covers <= into.covers
        return (food.category == other.category and covered) or (into is not None and into.id in also)

    def like_product(self, food: Food, other: Food) -> bool:
        """Whether ``food`` takes the place of ``other``, which is over a limit for such products."""
        part, into = self.part_of(other), self.part_of(food)
        any_of_it = part is not None and part.any_of_it and into is not None and into.id == part.id
        return any_of_it or food.product_kind == other.product_kind

    def stand_ins(self, food: Food, at_hand: Sequence[Sequence[Portion]]) -> list[Portion]:
        """What takes the place of a food that must not be packed: of the nearest part that has any, in the best list.

        ``at_hand``: lists of foods that may come in, those with less against them first.
        """
        part = self.part_of(food)
        for near in part.instead if part is not None else ():
            for some in at_hand:
                found = [one for one in some if (of := self.part_of(one.food)) is not None and of.id in near]
                if found:
                    return found
        return []

    def points_for(
        self, out: Food | None, into: Food, beside: Collection[Food], *, named: bool, at_fault: bool = False
    ) -> float:
        """By how many points a change comes before others (below 0: behind them).

        ``out``: what goes, None where a food is added; ``beside``: the foods that stay; ``named``: whether a person named
        the food that comes in; ``at_fault``: whether what goes is a reason why there is far too much of something: what
        comes for it is then not behind, if it is of the same part of a lunch.
        """
        found = -self.points.seldom if into.id in self.seldom and not named else 0.0
        if out is None or out.discretionary:
            found += self._points_for_lacking(into, beside)
        if out is not None and out.discretionary:
            part = self.part_of(out)
            found += 0.0 if part is None else part.sweets_points
        elif out is not None and not (at_fault and self._nearest(out, into)):
            found -= self.points.another_dish if DISH in self.kinds_of(out) else self.points.another_food
        return found

    def _nearest(self, food: Food, other: Food) -> bool:
        """Whether the other is of the part of a lunch that a food is, or of one that takes its place as well."""
        part, its = self.part_of(food), self.part_of(other)
        return part is not None and its is not None and its.id in part.also_instead | {part.id}

    def _points_for_lacking(self, food: Food, beside: Collection[Food]) -> float:
        """What a food comes ahead for bringing what the others lack: a part of a lunch, or something under a spread."""
        covered = {one for other in beside if (part := self.part_of(other)) is not None for one in part.covers}
        part = self.part_of(food)
        found = part.missing_points if part is not None and not part.covers <= covered else 0.0
        alone = any(SPREAD in self.kinds_of(other) for other in beside) and not self._has_under_a_spread(beside)
        return found + self.points.under_a_spread if alone and food.id in self.spread_on else found

    def _has_under_a_spread(self, foods: Collection[Food]) -> bool:
        return any(food.id in self.spread_on for food in foods)

    def forms_made(self, forms: Collection[str]) -> list[str]:
        """Those of the forms that a parent makes at home."""
        return [form for form in forms if form not in self.forms_not_made]

    def other_quantities(
        self, food: Food, quantity: float, unit: str, age_months: int | None = None
    ) -> Iterator[float]:
        """The other quantities that may be suggested, in order: counted things in whole, or by half where people halve them.

        None above what the food's portions allow, and none above the present one for discretionary foods. ``age_months``: of
        an older child, who may have two sandwiches.
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
        older = age_months is not None and age_months >= self.more_from_months
        most = 0.0 if food.discretionary else self._most(food, unit, older=older)
        for one in sorted(found):
            if one > LEAST and one != quantity and (one < quantity or one <= most):
                yield one

    def smallest_portion(self, food: Food) -> HouseholdUnit:
        """The lightest household unit of a food."""
        return min(food.units, key=lambda unit: unit.grams_mg)

    def _most(self, food: Food, unit: str, *, older: bool) -> float:
        """The largest quantity of a unit that a change may ask for."""
        if not food.units:
            return math.inf
        if older and unit in self.more_for_older and food.kind == "recipe":
            return LARGEST_OF_USUAL
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
