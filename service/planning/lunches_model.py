"""The lunch of each child on each day, as a model for the solver: how often each lunch is given in each part of the days.

A whole number a child, part and lunch. What one lunch costs and misses is worked out beforehand (``domain/plan/all_lunches``), so
that the model's rows are only those that tie lunches together: a food that does not come again too soon, the mean of all
days, dishes that are made in whole batches, the stock. Children of whom everything is the same are given the same.

There are far more lunches than the solver looks at: those that its prices show to be of use are added until none is (column
generation: P. C. Gilmore, R. E. Gomory, Oper. Res. 9 (1961), 849). The bound then holds for all lunches.
"""

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from service.domain.plan.all_lunches import MISSED, AllLunches, Numbers, conflicts, in_order, one_by_one, unit_of
from service.planning.solver import NO_END, Model, Progress, Solution, solve

ADDED = 60
"""Lunches that are added at a time, for each child and part."""
MOST_COLUMNS = 6_000
"""Lunches among which the solver chooses at last; a limit of ours."""
ROUNDS = 60
NEAR = 1e-7
GAP = 0.0005
"""The share of the cost within which the search stops."""
Tick = Callable[[Progress], bool]


class Kind(NamedTuple):
    """Children of whom everything is the same: how many, their lunches, and the days of each part, as places of their days."""

    many: int
    lunches: AllLunches
    parts: tuple[tuple[int, ...], ...]
    """By part of the plan: places among the child's own days."""


class Supply(NamedTuple):
    """Where portions of a food come from. ``cost``: of one unit, in lunches of the usual price; ``size``: its portions.

    ``most``: units there can be; ``least``: those there are in any case; ``parts``: parts of the days that it can be eaten in.
    ``whole``: units are whole numbers (parts of a batch); otherwise it is the stock.
    """

    food: str
    cost: float
    size: float
    least: int
    most: int
    parts: frozenset[int]
    whole: bool


class FoundLunches(NamedTuple):
    """The lunch of each kind of children on each of their days, by number; the sum of costs, and what it cannot be below.

    ``complete``: the bound holds for all lunches there are.
    """

    lunches: tuple[tuple[int, ...], ...]
    cost: float
    bound: float
    complete: bool


Column = tuple[int, int, int]
"""Kind, part, lunch."""


@dataclass
class _Master:
    """The model of some columns, and the numbers of its rows."""

    model: Model
    columns: dict[Column, int] = field(default_factory=dict)
    given: dict[tuple[int, int], int] = field(default_factory=dict)
    caps: dict[tuple[int, int | None, int, int], int] = field(default_factory=dict)
    means: dict[tuple[int, int], tuple[int, float]] = field(default_factory=dict)
    eaten: dict[tuple[str, int], int] = field(default_factory=dict)


def find_lunches(
    kinds: Sequence[Kind], supplies: Sequence[Supply], seconds: float, told: Tick | None = None
) -> FoundLunches:
    """The cheapest lunches for all children and days; stopped by the clock or by ``told``, the best so far."""
    begun = time.monotonic()
    searching = _Searching(kinds, supplies, begun, seconds, told)
    best = [one_by_one(kind.lunches, _days(kind), {}) for kind in kinds]
    cost = searching.cost_of(best)
    searching.tell(cost, -np.inf)
    bound, pool, stopped = searching.relaxed(best)
    complete = all(kind.lunches.complete for kind in kinds) and not stopped
    if not stopped and cost - bound > GAP * abs(cost) and not searching.tell(cost, bound):
        other, proven = searching.among(pool, cost, bound)
        bound = max(bound, proven)
        if other is not None:
            then = searching.cost_of(other)
            if then < cost:
                best, cost = other, then
    return FoundLunches(tuple(tuple(some) for some in best), cost, min(bound, cost), complete)


def _days(kind: Kind) -> int:
    return sum(len(part) for part in kind.parts)


@dataclass
class _Searching:
    kinds: Sequence[Kind]
    supplies: Sequence[Supply]
    begun: float
    seconds: float
    told: Tick | None
    best: float = np.inf

    @property
    def left(self) -> float:
        return max(0.05, self.begun + self.seconds - time.monotonic())

    def tell(self, best: float, bound: float) -> bool:
        """Tell the progress; whether to stop."""
        self.best = min(self.best, best)
        return self.told is not None and self.told(Progress(time.monotonic() - self.begun, self.best, bound))

    def cost_of(self, lunches: Sequence[Sequence[int]]) -> float:
        """The cost of lunches that are given, with as many batches as they need."""
        counts: dict[Column, int] = {}
        for number, (kind, some) in enumerate(zip(self.kinds, lunches, strict=True)):
            for part, days in enumerate(kind.parts):
                for day in days:
                    column = (number, part, some[day])
                    counts[column] = counts.get(column, 0) + 1
        master = self.master(list(counts), fixed=counts)
        return solve(master.model, seconds=self.left).cost

    def master(
        self, columns: Sequence[Column], *, fixed: Mapping[Column, int] | None = None, whole: bool = True
    ) -> _Master:
        """The model of some columns. ``fixed``: how often each is given."""
        made = _Master(Model())
        model = made.model
        rows: dict[object, dict[int, float]] = {}
        for column in columns:
            number, part, lunch = column
            kind = self.kinds[number]
            at = model.variable(0, NO_END, kind.many * float(kind.lunches.costs[lunch]), whole=whole)
            if fixed is not None:
                model.lower[at] = model.upper[at] = float(fixed[column])
            made.columns[column] = at
            rows.setdefault(("given", number, part), {})[at] = 1.0
            items = kind.lunches.items(lunch)
            groups = kind.lunches.child.groups
            for group, item in set(items):
                if groups[group].no_repeat and fixed is None:
                    rows.setdefault(("cap", number, part, group, item), {})[at] = 1.0
                    rows.setdefault(("cap", number, None, group, item), {})[at] = 1.0
            for group, item in items:
                food = groups[group].items[item].food
                if food in self.supplied:
                    terms = rows.setdefault(("eaten", food, part), {})
                    terms[at] = terms.get(at, 0.0) - kind.many
            for mean, (place, _bound) in enumerate(kind.lunches.child.means):
                value = sum(groups[group].items[item].values[place] for group, item in items)
                rows.setdefault(("mean", number, mean), {})[at] = value / self.unit(number, mean)
        self.add_supplies(made, rows, whole=whole)
        self.add_rows(made, rows)
        return made

    @property
    def supplied(self) -> frozenset[str]:
        return frozenset(one.food for one in self.supplies)

    def unit(self, number: int, mean: int) -> float:
        child = self.kinds[number].lunches.child
        place, bound = child.means[mean]
        largest = max((abs(item.values[place]) for group in child.groups for item in group.items), default=0)
        return unit_of(bound, largest) * max(1, _days(self.kinds[number]))

    def add_supplies(self, made: _Master, rows: dict[object, dict[int, float]], *, whole: bool) -> None:
        """What is there or is made for each food and part; what is eaten beyond it, at the cost of much."""
        model = made.model
        for one in self.supplies:
            units = model.variable(one.least, one.most, one.cost, whole=whole and one.whole)
            flows: dict[int, float] = {}
            for part in one.parts:
                flow = model.variable()
                flows[flow] = -1.0
                rows.setdefault(("eaten", one.food, part), {})[flow] = 1.0
            model.row({units: one.size, **flows}, at_least=0)
        parts = range(max((len(kind.parts) for kind in self.kinds), default=0))
        for food in sorted(self.supplied):
            for part in parts:
                beyond = model.variable(cost=MISSED)
                rows.setdefault(("eaten", food, part), {})[beyond] = 1.0

    def add_rows(self, made: _Master, rows: Mapping[object, dict[int, float]]) -> None:
        model = made.model
        for name, terms in rows.items():
            assert isinstance(name, tuple)  # noqa: S101 - named so above
            what, *rest = name
            if what == "given":
                number, part = rest
                days = len(self.kinds[number].parts[part])
                made.given[(number, part)] = model.row(terms, days, days)
            elif what == "cap":
                number, in_part, group, item = rest
                kind = self.kinds[number]
                days = _days(kind) if in_part is None else len(kind.parts[in_part])
                most = -(-days // (kind.lunches.child.groups[group].no_repeat + 1))
                made.caps[(number, in_part, group, item)] = model.row(terms, at_most=most)
            elif what == "eaten":
                made.eaten[(rest[0], rest[1])] = model.row(terms, at_least=0)
            else:
                number, mean = rest
                kind = self.kinds[number]
                unit = self.unit(number, mean)
                over = model.variable(cost=MISSED * kind.many * _days(kind))
                bound = kind.lunches.child.means[mean][1] * _days(kind) / unit
                made.means[(number, mean)] = (model.row({**terms, over: -1.0}, at_most=bound), unit)

    def relaxed(self, start: Sequence[Sequence[int]]) -> tuple[float, dict[Column, float], bool]:
        """The least sum with parts of lunches, over all lunches; those worth looking at, each with what it costs more.

        Whether the clock or the caller stopped it before its end.
        """
        columns: dict[Column, None] = {}
        for number, kind in enumerate(self.kinds):
            cheapest = np.argsort(kind.lunches.costs, kind="stable")[: 2 * ADDED]
            for part, days in enumerate(kind.parts):
                if days:
                    columns |= {(number, part, int(one)): None for one in cheapest}
                    columns |= {(number, part, start[number][day]): None for day in days}
        bound = -np.inf
        for _round in range(ROUNDS):
            master = self.master(list(columns), whole=False)
            found = solve(master.model, seconds=self.left)
            if not found.duals:
                return bound, dict.fromkeys(columns, 0.0), True
            more: dict[Column, None] = {}
            least = found.cost
            priced: dict[tuple[int, int], Numbers] = {}
            for number, kind in enumerate(self.kinds):
                for part, days in enumerate(kind.parts):
                    if not days:
                        continue
                    prices = self.priced(master, found, number, part)
                    priced[(number, part)] = prices
                    least += len(days) * min(0.0, float(prices.min()))
                    lower = np.flatnonzero(prices < -NEAR)
                    worth = lower[np.argsort(prices[lower], kind="stable")[:ADDED]]
                    more |= {(number, part, int(one)): None for one in worth}
            bound = max(bound, least)
            if not more.keys() - columns.keys():
                return bound, self.near(priced), False
            columns |= more
            if self.left <= 0.1 or self.tell(np.inf, bound):
                return bound, dict.fromkeys(columns, 0.0), True
        return bound, dict.fromkeys(columns, 0.0), True

    def priced(self, master: _Master, found: Solution, number: int, part: int) -> Numbers:
        """What each lunch of a kind of children costs more than the rows are ready to pay for it."""
        kind = self.kinds[number]
        child = kind.lunches.child
        paid: list[list[float]] = []
        for group, one in enumerate(child.groups):
            mine = []
            for item, food in enumerate(one.items):
                pays = 0.0
                for in_part in (part, None):
                    row = master.caps.get((number, in_part, group, item))
                    pays += 0.0 if row is None else found.duals[row]
                row = master.eaten.get((food.food, part))
                pays -= 0.0 if row is None else kind.many * found.duals[row]
                for mean, (place, _bound) in enumerate(child.means):
                    at = master.means.get((number, mean))
                    pays += 0.0 if at is None else found.duals[at[0]] * food.values[place] / at[1]
                mine.append(pays)
            paid.append(mine)
        given: Numbers = kind.many * kind.lunches.costs - kind.lunches.sums(paid)
        return given - found.duals[master.given[(number, part)]]

    def near(self, priced: Mapping[tuple[int, int], Numbers]) -> dict[Column, float]:
        """The lunches that cost least more, as many as are looked at, each with what it costs more."""
        each = max(ADDED, MOST_COLUMNS // max(1, len(priced)))
        found: dict[Column, float] = {}
        for (number, part), prices in priced.items():
            some = (
                np.argpartition(prices, min(each, len(prices) - 1))[:each] if len(prices) > each else range(len(prices))
            )
            found |= {(number, part, int(one)): float(prices[one]) for one in some}
        return found

    def among(self, pool: Mapping[Column, float], best: float, bound: float) -> tuple[list[list[int]] | None, float]:
        """The best lunches among some, in an order that keeps foods apart; and what no plan can be below."""
        worth = [column for column, more in pool.items() if more <= best - bound + NEAR]
        master = self.master(worth)
        found = solve(
            master.model,
            seconds=self.left,
            gap=GAP,
            tick=None
            if self.told is None
            else lambda now: self.tell(now.best if now.best is not None else best, bound),
        )
        if not found.values:
            return None, bound
        # Lunches that were not looked at cost more than all that can still be saved, where the pool holds every nearer one.
        cut: dict[tuple[int, int], float] = {}
        for (number, part, _lunch), more in pool.items():
            cut[(number, part)] = max(cut.get((number, part), 0.0), more)
        all_near = all(
            reach >= best - bound or sum(c[:2] == key for c in pool) >= self.kinds[key[0]].lunches.number
            for key, reach in cut.items()
        )
        ordered: list[list[int]] = []
        for number, kind in enumerate(self.kinds):
            of_part: list[list[int]] = [[] for _part in kind.parts]
            for (of, part, lunch), at in master.columns.items():
                if of == number:
                    of_part[part] += [lunch] * found.whole(at)
            ordered.append(in_order(kind.lunches, of_part) or self.kept_apart(kind, of_part))
        return ordered, min(found.bound, found.cost) if all_near else bound

    def kept_apart(self, kind: Kind, of_part: Sequence[Sequence[int]]) -> list[int]:
        """Where no order keeps the foods apart: the lunches chosen as far as they fit, and others for the days left."""
        fixed: dict[int, int] = {}
        chosen = [lunch for some in of_part for lunch in some]
        for day, lunch in enumerate(chosen):
            if not any(conflicts(kind.lunches, lunch, other, day - at) for at, other in fixed.items()):
                fixed[day] = lunch
        return one_by_one(kind.lunches, len(chosen), fixed)
