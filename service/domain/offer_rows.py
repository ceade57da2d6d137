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


class BranchRow(NamedTuple):
    """One row over one branch: lowest and highest value of each option of each list, and the bounds."""

    low: list[Whole]
    high: list[Whole]
    at_least: int | None
    at_most: int | None


def own_row(target: Target) -> LimitRow:
    """A target's own bounds as an inclusive row."""
    return LimitRow(
        target.terms,
        None if target.low is None else target.low + int(target.above),
        None if target.high is None else target.high - int(target.below),
    )


def items_interval(terms: tuple[tuple[int, int], ...], vector: ItemVector) -> tuple[int, int]:
    """Lowest and highest value of a row for one item; ``-NO_END`` and ``NO_END`` where there is no end."""
    low, high = row_interval(terms, add_up([vector]))
    return (-NO_END if low is None else low), (NO_END if high is None else high)


_remembered_interval = lru_cache(maxsize=65536)(items_interval)


def row_over_branch(row: LimitRow, branch: Branch, vectors: Mapping[tuple[str, str], ItemVector]) -> BranchRow:
    """A row laid over a branch's options."""
    keys = {(option.group, key) for options in branch.lists for option in options for key in option.items}
    values = {key: _remembered_interval(row.terms, vectors[key]) for key in keys}
    low, high = (
        _summed(branch, {k: v[0] for k, v in values.items()}),
        _summed(branch, {k: v[1] for k, v in values.items()}),
    )
    return BranchRow(low, high, row.low, row.high)


def _summed(branch: Branch, values: Mapping[tuple[str, str], int]) -> list[Whole]:
    """Values of options from those of their items; what has no end in one item has none in all."""
    return [
        np.array(
            [max(-NO_END, min(NO_END, sum(values[(option.group, key)] for key in option.items))) for option in options],
            dtype=np.int64,
        )
        for options in branch.lists
    ]


def product_row(table: TargetTable, branch: Branch, foods: Mapping[tuple[str, str], Food]) -> BranchRow | None:
    """How many items of a combination break a rule on single products: none may; None without such rules."""
    if not table.product_rules and not table.milk_rules:
        return None
    low: dict[tuple[str, str], int] = {}
    high: dict[tuple[str, str], int] = {}
    for key, food in foods.items():
        found = product_findings(table.product_rules, [food]) + milk_findings(table.milk_rules, [food])
        low[key] = sum(one.status in ("over", "short") for one in found)
        high[key] = low[key] + sum(one.status == "unknown" for one in found)
    return BranchRow(_summed(branch, low), _summed(branch, high), None, 0)


def measure_over_branch(
    measure: int, branch: Branch, vectors: Mapping[tuple[str, str], ItemVector]
) -> tuple[list[Whole], list[Whole]]:
    """A measure's known amount for each option, and how many of its items have no figure for it."""
    keys = {(option.group, key) for options in branch.lists for option in options for key in option.items}
    amount = {key: vectors[key].nominal[measure] for key in keys}
    missing = {key: int(any(m == measure for m, _low, _high in vectors[key].widened)) for key in keys}
    return _summed(branch, amount), _summed(branch, missing)


def without_energy(branch: Branch, vectors: Mapping[tuple[str, str], ItemVector]) -> list[Mask]:
    """For each list which options have no energy for certain; a share of energy lies idle in them alone."""

    def idle(key: tuple[str, str]) -> bool:
        vector = vectors[key]
        return vector.nominal[ENERGY] == 0 and all(measure != ENERGY for measure, _low, _high in vector.widened)

    return [
        np.array([all(idle((group, key)) for key in keys) for group, keys in options], dtype=np.bool_)
        for options in branch.lists
    ]
