"""The lunch of each child on each day, as a model for the solver: how often each lunch is given in each part of the days.

A whole number a child, part and lunch. What one lunch costs and misses is worked out beforehand (``domain/plan/all_lunches``), so
that the model's rows are only those that tie lunches together: a food that does not come again too soon, the mean of all
days, dishes that are made in whole batches, the stock. Children of whom everything is the same are given the same.

There are far more lunches than the solver looks at: those that its prices show to be of use are added until none is (column
generation: P. C. Gilmore, R. E. Gomory, Oper. Res. 9 (1961), 849). The bound then holds for all lunches.
"""

import time
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from service.domain.plan.all_lunches import MISSED, AllLunches, Numbers, one_by_one, unit_of
from service.planning.solver import NO_END, Model, Progress, Solution, solve

ADDED = 60
"""Lunches that are added at a time, for each child and part."""
MOST_COLUMNS = 6_000
"""Lunches among which the solver chooses at last; a limit of ours."""
NEAREST = 150
"""Lunches of a child and day among which the solver chooses."""
IN_DAYS = 0.6
"""The share of the time for finding the best; the rest is for proving how good it is."""
ROUNDS = 60
SEED = 1
NEAR = 1e-7
GAP = 0.0005
"""The share of the cost within which the search stops."""
Tick = Callable[[Progress], bool]


class Kind(NamedTuple):
    """Children of whom everything is the same: how many, their lunches, and by part of the plan the places of their own days.

    ``parts``: a part is a day of the plan, or several in which the same can be eaten; empty where they are not there.
    """

    many: int
    lunches: AllLunches
    parts: tuple[tuple[int, ...], ...]

    @property
    def days(self) -> int:
        """On how many days they are given a lunch."""
        return sum(len(part) for part in self.parts)


class Supply(NamedTuple):
    """Where portions of a food come from. ``cost``: of one unit, in lunches of the usual price; ``size``: its portions.

    ``most``: units there can be; ``parts``: parts of the plan in which they can be eaten. ``whole``: units are whole numbers
    (parts of a batch); otherwise it is the stock, or what is bought.
    """

    food: str
    cost: float
    size: float
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
Span = tuple[int, ...]
"""Parts in a row."""


@dataclass
class _Master:
    """The model of some columns, and the numbers of its rows."""

    model: Model
    columns: dict[Column, int] = field(default_factory=dict)
    given: dict[tuple[int, int], int] = field(default_factory=dict)
    caps: dict[tuple[int, Span, int, int], int] = field(default_factory=dict)
    means: dict[tuple[int, int], tuple[int, float]] = field(default_factory=dict)
    eaten: dict[tuple[str, int], int] = field(default_factory=dict)


def find_lunches(
    kinds: Sequence[Kind],
    supplies: Sequence[Supply],
    alike: Sequence[Sequence[int]],
    seconds: float,
    told: Tick | None = None,
) -> FoundLunches:
    """The cheapest lunches for all children and days; stopped by the clock or by ``told``, the best so far.

    Parameters
    ----------
    kinds, supplies: with a part for each day of the plan. alike: days in a row in which the same can be eaten, which covers all
    days. Without supplies nothing ties the kinds of children together, and each is looked at by itself.
    """
    end = time.monotonic() + seconds
    if supplies or len(kinds) <= 1:
        return _find_together(kinds, supplies, alike, end, told)
    found = []
    for place, kind in enumerate(kinds):
        until = time.monotonic() + max(0.1, (end - time.monotonic()) / (len(kinds) - place))
        found.append(_find_together([kind], supplies, alike, until, told))
    return FoundLunches(
        tuple(one.lunches[0] for one in found),
        sum(one.cost for one in found),
        sum(one.bound for one in found),
        all(one.complete for one in found),
    )


def _find_together(
    kinds: Sequence[Kind], supplies: Sequence[Supply], alike: Sequence[Sequence[int]], end: float, told: Tick | None
) -> FoundLunches:
    by_day = _Searching(kinds, supplies, end, told)
    merged = [
        kind._replace(parts=tuple(tuple(p for at in some for p in kind.parts[at]) for some in alike)) for kind in kinds
    ]
    reach = [
        one._replace(parts=frozenset(at for at, some in enumerate(alike) if one.parts.issuperset(some)))
        for one in supplies
    ]
    by_part = _Searching(merged, reach, end, told)
    best = [one_by_one(kind.lunches, kind.days, {}) for kind in kinds]
    cost = by_part.cost_of(best)
    by_part.tell(cost, -np.inf)
    bound, near, stopped = by_part.relaxed(best)
    by_day.best = by_part.best
    if not stopped and cost - bound > GAP * abs(cost):
        other = by_day.in_days(near, alike, best, bound)
        if other is not None and by_part.cost_of(other) < cost:
            best, cost = other, by_part.cost_of(other)
        if not by_part.tell(cost, bound) and cost - bound > GAP * abs(cost):
            bound = max(bound, by_part.proven(near, cost, bound))
    return FoundLunches(
        tuple(tuple(some) for some in best),
        cost,
        min(bound, cost),
        not stopped and all(kind.lunches.complete for kind in kinds),
    )


@dataclass
class _Searching:
    """One way to cut the days into parts, and the search in it."""

    kinds: Sequence[Kind]
    supplies: Sequence[Supply]
    end: float
    told: Tick | None
    best: float = np.inf
    begun: float = field(default_factory=time.monotonic)

    @property
    def left(self) -> float:
        return max(0.05, self.end - time.monotonic())

    def tell(self, best: float, bound: float) -> bool:
        """Tell the progress; whether to stop."""
        self.best = min(self.best, best)
        return self.told is not None and self.told(Progress(time.monotonic() - self.begun, self.best, bound))

    def spans(self, number: int, group: int) -> list[Span]:
        """Parts in which, together, a food of a group comes only so often.

        Where each part is a day, those of so many days in a row; otherwise each part, and all of them.
        """
        kind = self.kinds[number]
        used = [part for part, days in enumerate(kind.parts) if days]
        apart = kind.lunches.child.groups[group].no_repeat
        if not apart:
            return []
        if all(len(kind.parts[part]) == 1 for part in used):
            return [tuple(used[at : at + apart + 1]) for at in range(max(1, len(used) - apart))]
        return [*((part,) for part in used), *([tuple(used)] if len(used) > 1 else [])]

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
        spans = self.all_spans()
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
            for group, item in set(items) if fixed is None else ():
                for span in spans[(number, group)]:
                    if part in span:
                        rows.setdefault(("cap", number, span, group, item), {})[at] = 1.0
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
        return unit_of(bound, largest) * max(1, self.kinds[number].days)

    def add_supplies(self, made: _Master, rows: dict[object, dict[int, float]], *, whole: bool) -> None:
        """What is there or is made for each food and part; what is eaten beyond it, at the cost of much."""
        model = made.model
        for one in self.supplies:
            units = model.variable(0, one.most, one.cost, whole=whole and one.whole)
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
                number, span, group, item = rest
                kind = self.kinds[number]
                days = sum(len(kind.parts[part]) for part in span)
                most = -(-days // (kind.lunches.child.groups[group].no_repeat + 1))
                made.caps[(number, span, group, item)] = model.row(terms, at_most=most)
            elif what == "eaten":
                made.eaten[(rest[0], rest[1])] = model.row(terms, at_least=0)
            else:
                number, mean = rest
                kind = self.kinds[number]
                unit = self.unit(number, mean)
                over = model.variable(cost=MISSED * kind.many * kind.days)
                bound = kind.lunches.child.means[mean][1] * kind.days / unit
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
        spans = self.all_spans()
        paid: list[list[float]] = []
        for group, one in enumerate(child.groups):
            mine = []
            for item, food in enumerate(one.items):
                pays = 0.0
                for span in spans[(number, group)]:
                    if part in span:
                        row = master.caps.get((number, span, group, item))
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

    def all_spans(self) -> dict[tuple[int, int], list[Span]]:
        """The spans of each kind and group."""
        return {
            (number, group): self.spans(number, group)
            for number, kind in enumerate(self.kinds)
            for group in range(len(kind.lunches.child.groups))
        }

    def near(self, priced: Mapping[tuple[int, int], Numbers]) -> dict[Column, float]:
        """The lunches that cost least more, as many as are looked at, each with what it costs more."""
        each = max(ADDED, MOST_COLUMNS // max(1, len(priced)))
        found: dict[Column, float] = {}
        draws = np.random.default_rng(SEED)
        for (number, part), prices in priced.items():
            # Of lunches that cost the same, such as are not all alike: those next to each other in number share their foods.
            some = np.argsort(prices + NEAR * draws.random(len(prices)), kind="stable")[:each]
            found |= {(number, part, int(one)): float(prices[one]) for one in some}
        return found

    def in_days(
        self,
        near: Mapping[Column, float],
        alike: Sequence[Sequence[int]],
        start: Sequence[Sequence[int]],
        bound: float,
    ) -> list[list[int]] | None:
        """The best lunches day by day among the nearest of each part; None: none was found in time."""
        part_of = {day: part for part, some in enumerate(alike) for day in some}
        ranked: dict[tuple[int, int], list[int]] = {}
        for number, part, lunch in near:
            ranked.setdefault((number, part), []).append(lunch)
        days = sum(kind.days for kind in self.kinds)
        each = max(20, min(NEAREST, MOST_COLUMNS // max(1, days)))
        columns = {
            (number, day, lunch)
            for number, kind in enumerate(self.kinds)
            for day, own in enumerate(kind.parts)
            if own
            for lunch in (start[number][own[0]], *ranked[(number, part_of[day])][:each])
        }
        master = self.master(sorted(columns))
        found = solve(
            master.model,
            seconds=max(0.05, IN_DAYS * self.left),
            gap=GAP,
            tick=None if self.told is None else lambda now: self.tell(np.inf if now.best is None else now.best, bound),
        )
        if not found.values:
            return None
        chosen: list[dict[int, int]] = [{} for _kind in self.kinds]
        for (number, day, lunch), at in master.columns.items():
            if found.whole(at):
                chosen[number][self.kinds[number].parts[day][0]] = lunch
        return [[some[place] for place in sorted(some)] for some in chosen]

    def proven(self, near: Mapping[Column, float], best: float, bound: float) -> float:
        """What no plan can be below, from whole numbers of lunches and batches; ``bound`` where that cannot be said.

        Lunches that cost more than all that can still be saved need not be looked at; all others must be among those near.
        """
        saved = best - bound
        reach: dict[tuple[int, int], float] = {}
        for (number, part, _lunch), more in near.items():
            reach[(number, part)] = max(reach.get((number, part), 0.0), more)
        counts = Counter(column[:2] for column in near)
        if any(far < saved and counts[key] < self.kinds[key[0]].lunches.number for key, far in reach.items()):
            return bound
        master = self.master([column for column, more in near.items() if more <= saved + NEAR])
        found = solve(
            master.model,
            seconds=self.left,
            gap=GAP,
            tick=None if self.told is None else lambda _now: self.tell(best, bound),
        )
        return bound if found.status == "no_answer" and found.bound <= bound else max(bound, found.bound)
