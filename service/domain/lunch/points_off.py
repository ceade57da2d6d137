"""What is taken off a lunch's score besides what its targets leave: products over their limits, how things are kept, sweets.

Sweets and snacks (``Food.discretionary``) are left out of the lunch that the score's targets are judged on, so that they
fill no minimum and make no share look better; what they take off is the energy they bring. Figures: reference_data/scoring.toml.
"""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from service.domain.foods.amounts import NOTHING, ItemVector
from service.domain.foods.food import Food
from service.domain.lunch.standards import PERCENT, PointsOff, Target
from service.domain.measures import ENERGY, PARTS_IN_A_THOUSANDTH, THOUSANDTHS


class Taken(NamedTuple):
    """What single items take off, in thousandths of a point: as far as is known, at least and at most (None: no end)."""

    known: int = 0
    least: int = 0
    most: int | None = 0

    def __add__(self, other: "Taken") -> "Taken":  # type: ignore[override]
        """Of both together."""
        most = None if self.most is None or other.most is None else self.most + other.most
        return Taken(self.known + other.known, self.least + other.least, most)


class OffScore(NamedTuple):
    """What is taken off one score in points: as far as is known, at least and at most (None: all of it)."""

    known: float = 0.0
    least: float = 0.0
    most: float | None = 0.0


NOTHING_OFF = OffScore()


def scored_vector(food: Food, vector: ItemVector) -> ItemVector:
    """The measures of an item that the targets of a score are judged on: none of a sweet or a snack."""
    return NOTHING if food.discretionary else vector


def taken_by_sweets(points: PointsOff, food: Food, vector: ItemVector) -> Taken:
    """What an item takes off for the energy it brings, if it is a sweet or a snack.

    >>> from dataclasses import replace
    >>> from service.domain.foods.amounts import item_vector
    >>> from service.reference.foods.catalogue import find_food
    >>> drops = find_food("gum-drops")  # 396 kcal in 100 g (USDA SR28)
    >>> taken_by_sweets(PointsOff(discretionary_kcal_per_point=20), drops, item_vector(drops, 100_000, None)).known
    19800
    """
    if not food.discretionary or not points.discretionary_kcal_per_point:
        return Taken()
    per = points.discretionary_kcal_per_point * PARTS_IN_A_THOUSANDTH
    least: int = vector.nominal[ENERGY]
    most: int | None = least
    for measure, low, high in vector.interval_entries:
        if measure == ENERGY:
            least, most = low, high
    return Taken(vector.nominal[ENERGY] // per, least // per, None if most is None else -(-most // per))


def taken_by_products(points: PointsOff, broken: int, at_most: int) -> Taken:
    """What products over their limits take off; ``broken``: how many for certain, ``at_most``: with those not known."""
    each = round(points.for_a_product * THOUSANDTHS)
    return Taken(broken * each, broken * each, at_most * each)


def far_over(points: PointsOff, target: Target, amount: float) -> float:
    """How many distances an amount lies beyond where the satisfaction of a maximum is nil, 0 to the most that count.

    ``amount``: in the target's unit. Source: ours.
    """
    if target.at_most is None:
        return 0.0
    reach = abs(target.at_most) * target.distance_percent / PERCENT
    if reach == 0.0:
        return 0.0
    return min(points.most_distances_over, max(0.0, (amount - target.at_most) / reach - 1.0))


def off_score(
    points: PointsOff,
    amounts: Iterable[tuple[Target, float, float, float | None]],
    taken: Sequence[Taken],
    handling: tuple[bool, bool],
) -> OffScore:
    """What is taken off the score of one lunch.

    ``amounts``: of each target, as far as is known, at least and at most (None: no end). ``taken``: by its items.
    ``handling``: whether something is to be kept or cut in another way, for certain and possibly.
    """
    known = least = most = 0.0
    for target, amount, low, high in amounts:
        off = points.for_far_over * far_over(points, target, amount)
        known += off
        if low == amount == high:
            least += off
            most += off
            continue
        least += points.for_far_over * far_over(points, target, low)
        bounded = target.at_most is not None
        most += points.for_far_over * (
            far_over(points, target, high) if high is not None else points.most_distances_over * bounded
        )
    of_items = sum(taken, Taken())
    fix, perhaps = handling
    known += of_items.known / THOUSANDTHS + points.for_handling * fix
    least += of_items.least / THOUSANDTHS + points.for_handling * fix
    if of_items.most is None:
        return OffScore(known, least, None)
    most += of_items.most / THOUSANDTHS + points.for_handling * (fix or perhaps)
    return OffScore(known, least, most)
