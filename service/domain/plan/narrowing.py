"""The foods and sizes that may stand in an offer that keeps all rows: what cannot stand with the best of the others goes.

The same sums as in `robust`, for all sizes and rows of a group in one step, in whole numbers.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from service.domain.plan.robust import Candidates, Row, too_few

Whole = npt.NDArray[np.int64]
MOST = 1 << 60
"""A bound beyond this is as good as none, and sums of all values stay below it."""


class _Group:
    """A group of a child as arrays: a row for each size of each food, a column for each row that is to be kept."""

    def __init__(self, one: Candidates, rows: int) -> None:
        self.one = one
        sizes = [sized.values[:rows] for some in one.foods.values() for sized in some]
        self.values: Whole = np.array(sizes, dtype=np.int64).reshape(len(sizes), rows)
        self.of = np.repeat(np.arange(len(one.foods)), [len(some) for some in one.foods.values()])
        self.stands = np.ones(len(sizes), dtype=bool)

    def foods_left(self) -> int:
        """How many foods have a size that stands."""
        return len(np.unique(self.of[self.stands]))

    def least(self) -> tuple[Whole, Whole]:
        """The smallest that the worst can be, for each row; and with each of the sizes that stand."""
        values, of = self.values[self.stands], self.of[self.stands]
        foods, of = np.unique(of, return_inverse=True)
        smallest = np.full((len(foods), values.shape[1]), MOST, dtype=np.int64)
        np.minimum.at(smallest, of, values)
        ranked = np.sort(smallest, axis=0)
        place = np.argsort(np.argsort(smallest, axis=0, kind="stable"), axis=0, kind="stable")
        # Beside a food stand the smallest of the others: those before it in the ranking, then those after it.
        others = max(0, self.one.choices - 1)
        beside = np.arange(others)[None, :, None]
        beside = beside + (beside >= place[:, None, :])
        of_others = np.take_along_axis(np.broadcast_to(ranked, (len(foods), *ranked.shape)), beside, axis=1)
        with_each = np.concatenate([of_others[of], values[:, None, :]], axis=1)
        return worst_of(ranked[None, : self.one.choices], self.one)[0], worst_of(with_each, self.one)

    def narrowed(self) -> Candidates:
        """What is left of the group."""
        kept = iter(self.stands.tolist())
        foods = {food: tuple(sized for sized in some if next(kept)) for food, some in self.one.foods.items()}
        return replace(self.one, foods={food: some for food, some in foods.items() if some})


def worst_of(values: Whole, one: Candidates) -> Whole:
    """As ``robust.worst`` of each row of choices (first axis) over the foods chosen (second axis), for each sum (third)."""
    ranked = -np.sort(-values, axis=1)
    found: Whole
    if one.repeats:
        found = one.least * ranked[:, 0] + (one.most - one.least) * np.maximum(ranked[:, 0], 0)
    else:
        found = ranked[:, : one.least].sum(axis=1) + np.maximum(ranked[:, one.least : one.most], 0).sum(axis=1)
    return found


def narrowed(rows: Sequence[Row], groups: Sequence[Candidates]) -> list[Candidates]:
    """The groups without the sizes that cannot be in an offer that keeps all rows, and without foods that have none left.

    Repeated until nothing more falls away. A group may end with fewer foods than the child is to find. ``groups``: with
    enough foods each (`too_few`).
    """
    if too_few(groups):
        return list(groups)
    bounds: Whole = np.array([max(-MOST, min(MOST, row.bound)) for row in rows], dtype=np.int64)
    laid = [_Group(one, len(rows)) for one in groups]
    changed = True
    while changed:
        changed = False
        least = [group.least() if group.one.foods else None for group in laid]
        together = sum((one[0] for one in least if one is not None), np.zeros(len(rows), dtype=np.int64))
        for group, one in zip(laid, least, strict=True):
            if one is None:
                continue
            keeps = (together - one[0] + one[1] <= bounds).all(axis=1)
            if not keeps.all():
                group.stands[np.flatnonzero(group.stands)[~keeps]] = False
                changed = True
        if any(group.foods_left() < group.one.choices for group in laid):
            break
    return [group.narrowed() for group in laid]
