"""The lunch of each child on each day: the cheapest that keep foods apart, and what no plan can be below.

There are far more lunches than the solver looks at: those that its prices show to be of use are added until none is (column
generation: P. C. Gilmore, R. E. Gomory, Oper. Res. 9 (1961), 849). The bound then holds for all lunches.

One kind of children is looked at by itself first. If a food does not come again for k days, any k + 1 days in a row share none:
so k + 1 lunches that go round are a plan, and the days of a plan can be no cheaper than such runs, one after another. What ties
the kinds together (whole batches, the stock) is looked at then, with the lunches that were near.
"""

import time
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from service.domain.plan.all_lunches import Numbers, one_by_one
from service.planning.lunches_master import Column, Kind, Master, Supply, mean_unit
from service.planning.solver import Progress, solve

ADDED = 30
"""Lunches that are added at a time, for each kind of children and part."""
ROUNDS = 60
FEWEST = 60
"""Lunches of a part among which the solver chooses at first."""
MOST_COLUMNS = 2_000
"""Lunches among which the solver chooses at most; a limit of ours."""
NEAR = 1e-7
GAP = 0.0005
"""The share of the cost within which the search stops."""
SEED = 1
SHORTEST = 0.02
"""Seconds that the solver has at least."""
LONGER = 0.4
"""The share of the time that is left for the kind of children that may be improved most."""
AMONG = 0.4
"""The share of the time that is left for choosing among the nearest; the bound needs the rest."""
ALONE = 0.6
"""The share of the time for each kind of children by itself, where something ties them together."""
Tick = Callable[[Progress], bool]


class FoundLunches(NamedTuple):
    """The lunch of each kind of children on each of their days, by number; the sum of costs, and what it cannot be below.

    ``complete``: the bound holds for all lunches there are.
    """

    lunches: tuple[tuple[int, ...], ...]
    cost: float
    bound: float
    complete: bool


class _Alone(NamedTuple):
    """What was found for one child of a kind by itself: the lunch of each part, and what it cannot be below.

    ``searching``: the search in its parts, which go round where there are more days.
    """

    searching: "_Searching"
    found: "_Searched"
    bound: float

    @property
    def lunches(self) -> list[int]:
        """The lunch of each day."""
        kind, by_part = self.searching.kinds[0], self.found.lunches[0]
        return [by_part[day % len(by_part)] for day in range(kind.days)] if by_part else []

    @property
    def gap(self) -> float:
        """How much cheaper it might be."""
        return self.found.cost - self.bound

    def longer(self, seconds: float) -> "_Alone":
        """The same after a search among more lunches."""
        self.searching.until = time.monotonic() + seconds
        return self._replace(found=self.searching.better(self.found, MOST_COLUMNS))


class _Watch:
    """The time that is left, and who is told of the progress."""

    def __init__(self, seconds: float, told: Tick | None) -> None:
        self.begun = time.monotonic()
        self.end = self.begun + seconds
        self.told = told
        self.best = np.inf
        self.bound = -np.inf
        self.stopped = False

    @property
    def left(self) -> float:
        return max(SHORTEST, self.end - time.monotonic())

    @property
    def over(self) -> bool:
        """Whether the time is up, or somebody stopped the search."""
        return self.stopped or time.monotonic() >= self.end

    def tell(self, best: float = np.inf, bound: float = -np.inf) -> bool:
        """Tell the progress of the whole; whether to stop."""
        self.best, self.bound = min(self.best, best), max(self.bound, bound)
        if self.told is not None and not self.stopped:
            now = Progress(time.monotonic() - self.begun, self.best, self.bound)
            self.stopped = bool(self.told(now))
        return self.over


def find_lunches(
    kinds: Sequence[Kind], supplies: Sequence[Supply], seconds: float, told: Tick | None = None
) -> FoundLunches:
    """The cheapest lunches for all children and days; stopped by the clock or by ``told``, the best so far.

    ``kinds``: with a part for each day of the plan.
    """
    watch = _Watch(seconds, told)
    together = _Searching(kinds, supplies, watch, [kind.lunches.costs for kind in kinds])
    best = [one_by_one(kind.lunches, kind.days, {}) for kind in kinds]
    cost = together.cost_of(best)
    watch.tell(cost)
    extra = _prices(supplies)
    alone = []
    for place, kind in enumerate(kinds):
        seconds_each = watch.left * (ALONE if supplies else 1.0) / (len(kinds) - place)
        alone.append(_alone(kind, extra, best[place], watch, seconds_each))
        now = [one.lunches for one in alone] + best[place + 1 :]
        then = together.cost_of(now)
        if then <= cost:
            best, cost = now, then
        watch.tell(cost)
    for place in sorted(range(len(kinds)), key=lambda at: -kinds[at].many * alone[at].gap):
        if watch.over or alone[place].gap <= GAP * abs(alone[place].found.cost):
            continue
        alone[place] = alone[place].longer(LONGER * watch.left)
        now = [one.lunches for one in alone]
        then = together.cost_of(now)
        if then <= cost:
            best, cost = now, then
        watch.tell(cost)
    stocked = sum(one.most * one.size * extra[one.food] for one in supplies if one.stock)
    bound = sum(kind.many * one.bound for kind, one in zip(kinds, alone, strict=True)) - stocked
    if supplies and not watch.tell(cost, bound) and cost - bound > GAP * abs(cost):
        near = {
            (number, part, lunch): 0.0
            for number, (kind, one) in enumerate(zip(kinds, alone, strict=True))
            for part, own in enumerate(kind.parts)
            if own
            for lunch in dict.fromkeys([*best[number], *one.found.nearest])
        }
        most = MOST_COLUMNS // max(1, sum(kind.days for kind in kinds))
        other = together.among(near, best, max(most, 10))[0]
        if other is not None and together.cost_of(other) < cost:
            best, cost = other, together.cost_of(other)
    complete = np.isfinite(bound) and all(kind.lunches.complete for kind in kinds)
    return FoundLunches(tuple(tuple(some) for some in best), cost, min(bound, cost), bool(complete))


def _prices(supplies: Sequence[Supply]) -> dict[str, float]:
    """What a portion of a food costs where it is made or bought, at the least."""
    found: dict[str, float] = {}
    for one in supplies:
        if not one.stock:
            found[one.food] = min(found.get(one.food, np.inf), one.cost / one.size)
    return found | {one.food: 0.0 for one in supplies if one.food not in found}


def _alone(kind: Kind, extra: Mapping[str, float], start: list[int], watch: _Watch, seconds: float) -> _Alone:
    """The lunches of one child of a kind, by itself."""
    until = time.monotonic() + seconds
    costs = _with_extra(kind, extra)
    lowest = kind.days * float(costs.min())
    run = 1 + max((group.no_repeat for group in kind.lunches.child.groups), default=0)
    if kind.days <= run:
        days = tuple((day,) for day in range(kind.days))
        alone = _Searching([Kind(1, kind.lunches, days)], (), watch, [costs], until)
        found = alone.search([start])
        return _Alone(alone, found, max(found.bound, lowest))
    parts = tuple(tuple(range(part, kind.days, run)) for part in range(run))
    in_turn = Kind(1, kind.lunches, parts, round=True)
    alone = _Searching([in_turn], (), watch, [costs], until)
    found = alone.search([one_by_one(kind.lunches, run, {}, costs)])
    return _Alone(alone, found, max(lowest, min(found.cost, _bound(in_turn, costs, found, watch, until))))


def _bound(in_turn: Kind, costs: Numbers, found: "_Searched", watch: _Watch, until: float) -> float:
    """What the days of a plan cannot be below: runs of days in a row, one after another, with a price on the means.

    What the means may be over is given up for a price a unit (Lagrange), so that the bound falls apart into runs.
    """
    child, days = in_turn.lunches.child, in_turn.days
    fixed = 0.0
    for mean, ((place, bound), price) in enumerate(zip(child.means, found.prices, strict=True)):
        unit = mean_unit(in_turn, mean)
        values = [[float(item.values[place]) for item in group.items] for group in child.groups]
        costs = costs - price / unit * in_turn.lunches.sums(values)
        fixed += price * bound * days / unit
    lunches = in_turn.lunches.of_child(child._replace(means=()))
    whole, rest = divmod(days, len(in_turn.parts))
    for many, length in ((whole, len(in_turn.parts)), (1, rest)):
        parts = tuple((day,) for day in range(length))
        start = found.lunches[0][:length]
        if length:
            fixed += many * _Searching([Kind(1, lunches, parts)], (), watch, [costs], until).search([start]).bound
    return fixed


class _Searched(NamedTuple):
    """Lunches by kind and part, what cannot be gone below, lunches worth looking at, and the price of each mean."""

    lunches: list[list[int]]
    cost: float
    bound: float
    near: Mapping[Column, float]
    prices: tuple[float, ...]

    @property
    def nearest(self) -> list[int]:
        """The lunches worth looking at, whatever their part, the nearest first."""
        ranked = sorted(self.near, key=lambda column: self.near[column])
        return list(dict.fromkeys(lunch for _kind, _part, lunch in ranked))[:FEWEST]


class _Searching:
    """Some kinds of children, what ties them together, and the search for their lunches."""

    def __init__(
        self,
        kinds: Sequence[Kind],
        supplies: Sequence[Supply],
        watch: _Watch,
        costs: Sequence[Numbers],
        until: float = np.inf,
    ) -> None:
        self.kinds, self.supplies, self.watch, self.costs, self.until = kinds, supplies, watch, costs, until
        self.prices: tuple[float, ...] = tuple(0.0 for _mean in kinds[0].lunches.child.means) if kinds else ()

    @property
    def left(self) -> float:
        return max(SHORTEST, min(self.watch.left, self.until - time.monotonic()))

    def master(self, columns: Sequence[Column], *, whole: bool = True, free: bool = False) -> Master:
        """The model of some lunches."""
        return Master(self.kinds, self.supplies, self.costs).build(columns, whole=whole, free=free)

    def cost_of(self, lunches: Sequence[Sequence[int]]) -> float:
        """The cost of lunches that are given, with as many batches as they need."""
        columns = [
            (number, part, some[own[0]])
            for number, (kind, some) in enumerate(zip(self.kinds, lunches, strict=True))
            for part, own in enumerate(kind.parts)
            if own
        ]
        return solve(self.master(columns, free=True).model, seconds=10.0).cost

    def search(self, start: Sequence[Sequence[int]]) -> _Searched:
        """The best lunch of each part, of the nearest. ``start``: lunches by part, which keep foods apart."""
        bound, near = self.relaxed(start)
        cost = self._cost(start)
        return self.better(_Searched([list(some) for some in start], cost, min(bound, cost), near, self.prices), FEWEST)

    def better(self, found: _Searched, each: int) -> _Searched:
        """What the solver finds among so many lunches of each part; the same where nothing better is found in time."""
        if (
            not found.near
            or self.watch.over
            or self.left <= SHORTEST
            or found.cost - found.bound <= GAP * abs(found.cost)
        ):
            return found
        lunches, least = self.among(found.near, found.lunches, each)
        cost = np.inf if lunches is None else self._cost(lunches)
        if lunches is not None and cost < found.cost:
            found = found._replace(lunches=lunches, cost=cost)
        if self.holds_all(found.near, each, found.cost - found.bound):
            found = found._replace(bound=min(found.cost, max(found.bound, least)))
        return found

    def _cost(self, by_part: Sequence[Sequence[int]]) -> float:
        columns = [(number, part, lunch) for number, some in enumerate(by_part) for part, lunch in enumerate(some)]
        return solve(self.master(columns, free=True).model, seconds=10.0).cost

    def relaxed(self, start: Sequence[Sequence[int]]) -> tuple[float, dict[Column, float]]:
        """The least sum with parts of lunches, over all lunches; those worth looking at, each with what it costs more.

        None are worth it where the search was stopped before its end: the bound holds all the same.
        """
        columns: dict[Column, None] = {}
        for number, kind in enumerate(self.kinds):
            cheapest = np.argsort(self.costs[number], kind="stable")[:ADDED]
            for part in range(len(kind.parts)):
                columns |= {(number, part, int(one)): None for one in cheapest}
                columns[(number, part, start[number][part])] = None
        bound = -np.inf
        for _round in range(ROUNDS):
            master = self.master(list(columns), whole=False)
            found = solve(master.model, seconds=self.left)
            if not found.duals:
                break
            least = found.cost
            more: dict[Column, None] = {}
            priced: dict[tuple[int, int], Numbers] = {}
            for number, kind in enumerate(self.kinds):
                for part in range(len(kind.parts)):
                    prices = priced[(number, part)] = master.priced(found, number, part)
                    least += min(0.0, float(prices.min()))
                    lower = np.flatnonzero(prices < -NEAR)
                    worth = lower[np.argsort(prices[lower], kind="stable")[:ADDED]]
                    more |= {(number, part, int(one)): None for one in worth}
            if least > bound:
                bound, self.prices = least, master.mean_prices(found)
            if not more.keys() - columns.keys():
                used = {column for column, at in master.columns.items() if found.values[at] > NEAR}
                return bound, _near(priced, used)
            columns |= more
            if self.watch.tell() or self.left <= SHORTEST:
                break
        return bound, {}

    def among(
        self, near: Mapping[Column, float], start: Sequence[Sequence[int]], each: int
    ) -> tuple[list[list[int]] | None, float]:
        """The best lunches among the nearest of each part, so many at most, and the least that is possible among them."""
        ranked: dict[tuple[int, int], list[Column]] = {}
        for column in near:
            ranked.setdefault(column[:2], []).append(column)
        columns = dict.fromkeys(column for some in ranked.values() for column in some[:each])
        own = {
            (number, part): (kind.parts[part][0] if len(start[number]) == kind.days else part)
            for number, kind in enumerate(self.kinds)
            for part in range(len(kind.parts))
            if kind.parts[part]
        }
        started = {(number, part, start[number][at]): 1.0 for (number, part), at in own.items()}
        master = self.master(sorted(columns | started))
        found = solve(
            master.model,
            seconds=AMONG * self.left,
            gap=GAP,
            start={at: started.get(column, 0.0) for column, at in master.columns.items()},
            tick=lambda _now: self.watch.tell(),
        )
        if not found.values:
            return None, -np.inf
        chosen: list[dict[int, int]] = [{} for _kind in self.kinds]
        for (number, part, lunch), at in master.columns.items():
            if found.whole(at):
                chosen[number][own[(number, part)]] = lunch
        return [[some[place] for place in sorted(some)] for some in chosen], found.bound

    def holds_all(self, near: Mapping[Column, float], each: int, saved: float) -> bool:
        """Whether so many of each part are all that matter: those left aside cost more than all that can still be saved."""
        ranked: dict[tuple[int, int], list[float]] = {}
        for column, more in near.items():
            ranked.setdefault(column[:2], []).append(more)
        return all(
            len(some[:each]) >= self.kinds[number].lunches.number or some[:each][-1] >= saved
            for (number, _part), some in ranked.items()
        )


def _with_extra(kind: Kind, extra: Mapping[str, float]) -> Numbers:
    """What each lunch costs, with what its supplied foods cost."""
    if not extra:
        return kind.lunches.costs
    groups = kind.lunches.child.groups
    of_items = [[extra.get(item.food, 0.0) for item in group.items] for group in groups]
    return kind.lunches.costs + kind.lunches.sums(of_items)


def _near(priced: Mapping[tuple[int, int], Numbers], used: set[Column]) -> dict[Column, float]:
    """The lunches that cost least more, as many as are looked at, each with what it costs more; those in use come first."""
    each = MOST_COLUMNS // max(1, len(priced))
    found: dict[Column, float] = {}
    draws = np.random.default_rng(SEED)
    for (number, part), prices in priced.items():
        found |= {column: 0.0 for column in sorted(used) if column[:2] == (number, part)}
        # Of lunches that cost the same, such as are not all alike: those next to each other in number share their foods.
        some = np.argsort(prices + NEAR * draws.random(len(prices)), kind="stable")[:each]
        found |= {(number, part, int(one)): float(prices[one]) for one in some}
    return found
