"""The rows of a target table over the options of an offer's branches, as whole-number arrays.

The same rows, bounds and item vectors as a single check: a row's value for an option is the sum of its
items' values, and a combination's value the sum of its options'. An unknown value has no end.
"""

from collections.abc import Mapping
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from service.domain.amounts import ItemVector, add_up
from service.domain.combinations_spans import NO_END
from service.domain.findings import row_interval
from service.domain.foods import Food
from service.domain.offers import Branch
from service.domain.special_rules import milk_findings, product_findings
from service.domain.standards import ENERGY, LimitRow, Target, TargetTable

Whole = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]
Key = tuple[str, str]
"""Group id and item key."""
Terms = tuple[tuple[int, int], ...]


class BranchRow(NamedTuple):
    """One row over one branch: lowest and highest value of each option of each list, and the bounds."""

    low: list[Whole]
    high: list[Whole]
    at_least: int | None
    at_most: int | None


class OfferItems:
    """The items of an offer, measures and foods by group and key; remembers what was laid over which branch."""

    def __init__(self, vectors: Mapping[Key, ItemVector], foods: Mapping[Key, Food]) -> None:
        self.vectors = vectors
        self.foods = foods
        self._options: dict[int, _Options] = {}
        self._rows: dict[tuple[Terms, int], tuple[list[Whole], list[Whole]]] = {}
        self._kept: list[Branch] = []

    def _of(self, branch: Branch) -> "_Options":
        found = self._options.get(id(branch))
        if found is None:
            found = self._options[id(branch)] = _Options(branch)
            self._kept.append(branch)  # so that no other branch can take its id
        return found

    def row(self, row: LimitRow, branch: Branch) -> BranchRow:
        """A row laid over a branch's options."""
        place = (row.terms, id(branch))
        laid = self._rows.get(place)
        if laid is None:
            options = self._of(branch)
            ends = [_remembered_interval(row.terms, self.vectors[key]) for key in options.keys]
            low, high = options.summed([end[0] for end in ends]), options.summed([end[1] for end in ends])
            laid = self._rows[place] = (low, high)
        return BranchRow(*laid, row.low, row.high)

    def products(self, table: TargetTable, branch: Branch) -> BranchRow | None:
        """How many items of a combination break a rule on single products: none may; None without such rules."""
        if not table.product_rules and not table.milk_rules:
            return None
        options = self._of(branch)
        ends = [_broken_rules(table, self.foods[key]) for key in options.keys]
        return BranchRow(options.summed([end[0] for end in ends]), options.summed([end[1] for end in ends]), None, 0)

    def measure(self, measure: int, branch: Branch) -> tuple[list[Whole], list[Whole]]:
        """A measure's known amount for each option, and how many of its items have no exact figure for it."""
        options = self._of(branch)
        amounts = [self.vectors[key].nominal[measure] for key in options.keys]
        missing = [int(any(m == measure for m, _low, _high in self.vectors[key].widened)) for key in options.keys]
        return options.summed(amounts), options.summed(missing)

    def without_energy(self, branch: Branch) -> list[Mask]:
        """For each list which options have no energy for certain; a share of energy lies idle in them alone."""
        options = self._of(branch)
        some = [int(not _idle(self.vectors[key])) for key in options.keys]
        return [part == 0 for part in options.summed(some)]


class _Options:
    """The items of a branch's options as places in one row, so that sums over options are one step."""

    def __init__(self, branch: Branch) -> None:
        places: dict[Key, int] = {}
        flat: list[int] = []
        starts: list[int] = []
        for options in branch.lists:
            for option in options:
                starts.append(len(flat))
                flat.append(0)  # a place of nothing, so that an option of no items has one too
                flat += [places.setdefault((option.group, key), len(places) + 1) for key in option.items]
        self.keys = list(places)
        self._flat = np.array(flat, dtype=np.int64)
        self._starts = np.array(starts, dtype=np.int64)
        self._ends = np.cumsum([len(options) for options in branch.lists])[:-1]

    def summed(self, values: list[int]) -> list[Whole]:
        """Values of the options from those of the items; what has no end in one item has none in all."""
        each = np.array([0, *values], dtype=np.int64)
        sums = np.add.reduceat(each[self._flat], self._starts)
        return np.split(np.clip(sums, -NO_END, NO_END), self._ends)


@lru_cache(maxsize=4096)
def _broken_rules(table: TargetTable, food: Food) -> tuple[int, int]:
    """How many rules on single products a food breaks for certain, and at most."""
    found = product_findings(table.product_rules, [food]) + milk_findings(table.milk_rules, [food])
    broken = sum(one.status in ("over", "short") for one in found)
    return broken, broken + sum(one.status == "unknown" for one in found)


def _idle(vector: ItemVector) -> bool:
    return vector.nominal[ENERGY] == 0 and all(measure != ENERGY for measure, _low, _high in vector.widened)


def own_row(target: Target) -> LimitRow:
    """A target's own bounds as an inclusive row."""
    return LimitRow(
        target.terms,
        None if target.low is None else target.low + int(target.above),
        None if target.high is None else target.high - int(target.below),
    )


def items_interval(terms: Terms, vector: ItemVector) -> tuple[int, int]:
    """Lowest and highest value of a row for one item; ``-NO_END`` and ``NO_END`` where there is no end."""
    low, high = row_interval(terms, add_up([vector]))
    return (-NO_END if low is None else low), (NO_END if high is None else high)


_remembered_interval = lru_cache(maxsize=65536)(items_interval)
