"""The rows of a target table over the options of an offer's branches, as whole-number arrays.

The same rows, bounds and item vectors as a single check: a row's value for an option is the sum of its
items' values, and a combination's value the sum of its options'. An unknown value has no end.
"""

from collections.abc import Callable, Hashable, Mapping, Sequence
from functools import lru_cache
from itertools import accumulate
from math import prod
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from service.domain.counting.spans import NO_END, Rule
from service.domain.counting.survey import RowRule, Values
from service.domain.foods.amounts import ItemVector, add_up
from service.domain.foods.food import Food
from service.domain.lunch.findings import row_interval
from service.domain.lunch.points_off import scored_vector, taken_by_products, taken_by_sweets
from service.domain.lunch.special_rules import broken_rules, milk_findings, product_findings
from service.domain.lunch.standards import Target, TargetTable
from service.domain.measures import ENERGY, MEASURE_COUNT
from service.domain.offers.branches import NONE_ALIKE, Alike, Branch, Key, Option
from service.domain.offers.together import Together

Whole = npt.NDArray[np.int64]
Terms = tuple[tuple[int, int], ...]
SHARE = "share_of_energy"


class TableRows(NamedTuple):
    """The rows of a table, each once: weights of the measures, and what is asked of which row.

    After these rows comes one that counts what speaks against single items (a product over its limit, a form, how it is
    kept), of which there may be none; and where sweets or snacks are offered, each minimum of energy without them.
    """

    terms: tuple[Terms, ...]
    limits: tuple[RowRule, ...]
    own: tuple[RowRule, ...]


@lru_cache(maxsize=256)
def rows_of(table: TargetTable) -> TableRows:
    """The rows of a table.

    Limits are what one lunch by itself must keep of each target, and the rules on single items after them; a week's mean counts
    against a lunch only where its limit is broken for certain, as in a single check.
    """
    places: dict[Terms, int] = {}
    limits: list[RowRule] = []
    own: list[RowRule] = []
    for target in table.targets:
        limit = target.limit
        limits.append((places.setdefault(limit.terms, len(places)), Rule(limit.low, limit.high, not target.firm)))
        own.append((places.setdefault(target.terms, len(places)), Rule(target.lowest, target.highest)))
    limits.append((len(places), Rule(None, 0)))
    return TableRows(tuple(places), tuple(limits), tuple(own))


class OfferItems:
    """The items of an offer, measures and foods by group and key; remembers the sums over options.

    ``handled``: how many findings on its form and on how it is kept count against an item, for certain and at most.
    ``together``: what items of one food credit together; left out: each by itself.
    """

    def __init__(
        self,
        vectors: Mapping[Key, ItemVector],
        foods: Mapping[Key, Food],
        handled: Mapping[Key, tuple[int, int]] | None = None,
        together: Together | None = None,
    ) -> None:
        self.vectors = vectors
        self.foods = foods
        self.handled = handled or {}
        self.together = together
        self.alike: Alike = NONE_ALIKE if together is None else together.between_groups
        self._more: dict[ItemVector, int] = {}
        """What some options credit beyond their items, each with its column after those of the items."""
        self._has_intervals = any(one.interval_entries for one in vectors.values()) or any(
            low < high for low, high in self.handled.values()
        )
        self._has_sweets = any(food.discretionary for food in foods.values())
        self._columns = {key: place for place, key in enumerate(vectors, 1)}
        self._items: dict[Hashable, Whole] = {}
        self._unbounded: dict[Hashable, bool] = {}
        self._laid: dict[tuple[Hashable, int], Whole] = {}
        self._places: dict[int, tuple[tuple[Option, ...], Whole, Whole]] = {}

    def values(self, table: TargetTable, branch: Branch) -> Values:
        """All rows of a table over a branch's options; see `rows_of`."""
        low = self._over(("low", table), branch, lambda: self._rows(table, 0))
        high = low
        if self._has_intervals:
            high = self._over(("high", table), branch, lambda: self._rows(table, 1))
        return Values(low, high, tuple(len(options) for options in branch.lists))

    def row_count(self, table: TargetTable) -> int:
        """How many rows ``values`` gives."""
        return len(rows_of(table).terms) + 1 + (len(energy_minima(table)) if self._has_sweets else 0)

    def limits(self, table: TargetTable, branch: Branch) -> list[RowRule]:
        """What a combination must keep, with the options in which a share of energy lies idle."""
        limits = list(rows_of(table).limits)
        if self._has_sweets:
            first = len(rows_of(table).terms) + 1
            limits += [
                (first + place, Rule(target.limit.low, None, only_if_certain=True))
                for place, target in enumerate(energy_minima(table))
            ]
        return self._with_idle(table, limits, branch)

    def own(self, table: TargetTable, branch: Branch) -> list[RowRule]:
        """Each target's own bounds, likewise."""
        return self._with_idle(table, rows_of(table).own, branch)

    def without_energy(self, branch: Branch) -> int:
        """How many lunches of a branch have no energy, so that no share of it can be asked for."""
        some = self._over("energy", branch, self._energy)[0]
        return prod(int(np.count_nonzero(part == 0)) for part in split(some, [len(one) for one in branch.lists]))

    def measures(self, branch: Branch) -> tuple[Whole, Whole]:
        """Each measure's known amount for each option, and how many of its items have no exact figure for it."""
        return self._over("amounts", branch, self._amounts), self._over("missing", branch, self._missing)

    def scored(self, key: Key) -> ItemVector:
        """The measures of an item that the targets of a score are judged on."""
        return scored_vector(self.foods[key], self.vectors[key])

    def scored_together(self, option: Option) -> tuple[ItemVector, ...]:
        """The measures of all items of an option that the targets of a score are judged on."""
        more = self.together and self.together.of(option)
        return (*(self.scored((option.group, key)) for key in option.items), *([more] if more else []))

    def taken(self, table: TargetTable, option: Option) -> tuple[int, int]:
        """What an option takes off a score: thousandths of a point, and how many items are kept or cut wrongly."""
        points = table.standard.points_off
        thousandths = handled = 0
        for name in option.items:
            key = (option.group, name)
            food = self.foods[key]
            broken = len(broken_rules(table, food))
            off = taken_by_sweets(points, food, self.vectors[key]) + taken_by_products(points, broken, broken)
            thousandths += off.known
            handled += self.handled.get(key, (0, 0))[0]
        return thousandths, handled

    def _with_idle(self, table: TargetTable, rules: Sequence[RowRule], branch: Branch) -> list[RowRule]:
        shares = [target.kind == SHARE for target in table.targets]
        if not any(shares):
            return list(rules)
        some = self._over("energy", branch, self._energy)[0]
        if some.all():
            return list(rules)
        idle = [part == 0 for part in split(some, [len(options) for options in branch.lists])]
        shares += [False] * (len(rules) - len(shares))
        return [
            (row, rule._replace(idle=idle)) if share else (row, rule)
            for (row, rule), share in zip(rules, shares, strict=True)
        ]

    def _over(self, what: Hashable, branch: Branch, made: Callable[[], Whole]) -> Whole:
        """Values of the items (rows, items) summed over the options of a branch: (rows, options of all lists)."""
        laid = [self._of(options) for options in branch.lists]
        each = self._items.get(what)
        if each is None or each.shape[1] < 1 + len(self.vectors) + len(self._more):
            each = self._items[what] = made()
            self._unbounded[what] = bool((np.abs(each) >= NO_END).any())
        parts = []
        for options, (_options, flat, starts) in zip(branch.lists, laid, strict=True):
            place = (what, id(options))
            if place not in self._laid:
                sums: Whole = np.add.reduceat(each[:, flat], starts, axis=1)
                self._laid[place] = np.clip(sums, -NO_END, NO_END) if self._unbounded[what] else sums
            parts.append(self._laid[place])
        return np.concatenate(parts, axis=1)

    def _of(self, options: tuple[Option, ...]) -> tuple[tuple[Option, ...], Whole, Whole]:
        """The items of options as places in one row, and where each option starts: so that sums are one step."""
        found = self._places.get(id(options))
        if found is None:
            flat: list[int] = []
            starts: list[int] = []
            columns = self._columns
            for option in options:
                starts.append(len(flat))
                if option.items:
                    flat += [columns[key] for key in option.keyed()]
                else:
                    flat.append(0)  # a place of nothing
                more = self.together and self.together.of(option)
                if more:
                    flat.append(self._more.setdefault(more, len(columns) + len(self._more) + 1))
            # The options are kept along, so that no others can take their id.
            found = (options, np.array(flat, dtype=np.int64), np.array(starts, dtype=np.int64))
            self._places[id(options)] = found
        return found

    def _rows(self, table: TargetTable, end: int) -> Whole:
        rows = rows_of(table)
        minima = energy_minima(table) if self._has_sweets else ()
        columns = [(0,) * (len(rows.terms) + 1 + len(minima))]
        for key, vector in self.vectors.items():
            against = _broken_rules(table, self.foods[key])[end] + self.handled.get(key, (0, 0))[end]
            core = self.scored(key)
            without_sweets = [items_interval(target.limit.terms, core)[end] for target in minima]
            columns.append((*_ends(table, vector)[end], against, *without_sweets))
        columns += [(*_ends(table, more)[end], 0, *(0 for _one in minima)) for more in self._more]
        return np.array(columns, dtype=np.int64).T

    def _amounts(self) -> Whole:
        whole = [(0,) * MEASURE_COUNT, *(one.nominal for one in (*self.vectors.values(), *self._more))]
        return np.array(whole, dtype=np.int64).T

    def _missing(self) -> Whole:
        found = np.zeros((MEASURE_COUNT, len(self.vectors) + 1 + len(self._more)), dtype=np.int64)
        for place, vector in enumerate(self.vectors.values(), 1):
            for measure, _low, _high in vector.interval_entries:
                found[measure, place] = 1
        return found

    def _energy(self) -> Whole:
        some = [int(not _idle(one)) for one in self.vectors.values()]
        return np.array([[0, *some, *(0 for _more in self._more)]], dtype=np.int64)


def split(row: Whole, sizes: Sequence[int]) -> list[Whole]:
    """A row over the options of all lists, list by list."""
    ends = accumulate(sizes)
    return [row[end - size : end] for end, size in zip(ends, sizes, strict=True)]


@lru_cache(maxsize=256)
def energy_minima(table: TargetTable) -> tuple[Target, ...]:
    """The targets that sweets and snacks do not help to meet, if there is a rule that says so."""
    if table.standard.points_off.energy_rule is None:
        return ()
    return tuple(target for target in table.targets if target.is_energy_minimum)


@lru_cache(maxsize=16384)
def _ends(table: TargetTable, vector: ItemVector) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Lowest and highest values of a table's rows for one item."""
    ends = [items_interval(terms, vector) for terms in rows_of(table).terms]
    return tuple(low for low, _ in ends), tuple(high for _, high in ends)


@lru_cache(maxsize=4096)
def _broken_rules(table: TargetTable, food: Food) -> tuple[int, int]:
    """How many rules on single products a food breaks for certain, and at most."""
    found = product_findings(table.product_rules, [food]) + milk_findings(table.milk_rules, [food])
    broken = sum(one.status in ("over", "short") for one in found)
    return broken, broken + sum(one.status == "unknown" for one in found)


def _idle(vector: ItemVector) -> bool:
    return vector.nominal[ENERGY] == 0 and all(measure != ENERGY for measure, _low, _high in vector.interval_entries)


def items_interval(terms: Terms, vector: ItemVector) -> tuple[int, int]:
    """Lowest and highest value of a row for one item; ``-NO_END`` and ``NO_END`` where there is no end.

    ``terms``: (measure index, weight). Whole parts (``SCALE``) times weights.
    """
    if not vector.interval_entries:
        exact = sum(weight * vector.nominal[measure] for measure, weight in terms)
        return exact, exact
    low, high = row_interval(terms, add_up([vector]))
    return (-NO_END if low is None else low), (NO_END if high is None else high)
