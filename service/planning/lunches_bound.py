"""What no plan of lunches can be below: whole lunches in parts, whoever of a kind and on whichever day is given them.

Children of a kind are looked at together, and so are days on which the same batches and stock can be eaten. There are far more
lunches than the solver looks at: those that its prices show to be of use are added until none is, and the bound holds for all of
them at any time (column generation: P. C. Gilmore, R. E. Gomory, Oper. Res. 9 (1961), 849; the bound: L. S. Lasdon, 1970).
"""

import time
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from service.domain.plan.all_lunches import MISSED, Numbers
from service.planning.lunches_model import Eater, Kind, LunchesModel, Supply, days_apart, mean_unit
from service.planning.solver import Model, Solution, solve

ADDED = 30
"""Lunches that are added at a time, for each kind and part."""
NOT_GIVEN = 1e4
"""What a lunch counts that is not given: so there is always an answer."""
NEAR = 1e-7
Name = tuple[object, ...]
"""What a row is of."""


class _Column(NamedTuple):
    """Kind, part of the plan, and the number of a lunch."""

    kind: int
    part: int
    lunch: int


class _Laid(NamedTuple):
    """The model of some columns, and its rows by what they are of."""

    model: Model
    rows: Mapping[Name, int]


def least_cost(
    kinds: Sequence[Kind], supplies: Sequence[Supply], seconds: float, told: Callable[[float], bool]
) -> None:
    """Tell (``told``) a bound after another, each as high as the one before or higher, until the last, or ``told`` says to stop."""
    if not all(kind.lunches.complete for kind in kinds):
        return
    bounding = _Bounding(kinds, supplies)
    until = time.monotonic() + seconds
    columns = dict.fromkeys(bounding.cheapest())
    while (left := until - time.monotonic()) > 0:
        laid = bounding.laid(list(columns))
        found = solve(laid.model, seconds=left)
        if not found.duals:
            return
        bound, more = bounding.priced(laid, found)
        if told(bound) or not more.keys() - columns.keys():
            return
        columns |= more


class _Bounding:
    """The days in parts, and what ties lunches together."""

    def __init__(self, kinds: Sequence[Kind], supplies: Sequence[Supply]) -> None:
        self.kinds, self.supplies = kinds, supplies
        self.supplied = frozenset(one.food for one in supplies)
        days = sorted({day for kind in kinds for day in kind.days})
        parts: dict[tuple[bool, ...], list[int]] = defaultdict(list)
        for day in days:
            parts[tuple(day in one.days for one in supplies)].append(day)
        self.parts = list(parts.values())
        self.own = [
            [[number for number, day in enumerate(kind.days) if day in part] for part in self.parts] for kind in kinds
        ]
        """Of each kind and part, which of its days are in it."""
        some = range(len(self.parts))
        self.among = {(at,) for at in some} | {(at, at + 1) for at in some[:-1]} | {tuple(some)}
        """Parts in which a food comes so often at most as days are apart."""
        whole = LunchesModel(kinds, supplies, [Eater(at, together=kind.many) for at, kind in enumerate(kinds)])
        self.eaten = [whole.most_eaten(one) if one.whole else None for one in supplies]

    def cheapest(self) -> list[_Column]:
        """The lunches to begin with."""
        return [
            _Column(number, part, int(lunch))
            for number, kind in enumerate(self.kinds)
            for part in range(len(self.parts))
            if self.own[number][part]
            for lunch in np.argsort(kind.lunches.costs, kind="stable")[:ADDED]
        ]

    def laid(self, columns: Sequence[_Column]) -> _Laid:
        """The model of some columns."""
        model, terms = Model(), defaultdict[Name, dict[int, float]](dict)
        for column in columns:
            self._column(model, terms, column)
        for place, one in enumerate(self.supplies):
            units = model.variable(0, one.most, one.cost)
            flows = {}
            for part, days in enumerate(self.parts):
                if days[0] in one.days:
                    flow = model.variable()
                    flows[flow] = -1.0
                    terms["eaten", one.food, part][flow] = 1.0
            model.row({units: one.size, **flows}, at_least=0)
            eaten = self.eaten[place]
            if eaten:
                # No more can be eaten of it than this: see ``lunches_model``.
                number = -(-eaten // one.size)
                rest = eaten - (number - 1) * one.size
                model.row({units: rest, **flows}, at_least=rest * number - eaten)
        return _Laid(model, {name: self._row(model, name, mine) for name, mine in terms.items()})

    def _column(self, model: Model, terms: Mapping[Name, dict[int, float]], column: _Column) -> None:
        number, part, lunch = column
        kind = self.kinds[number]
        groups = kind.lunches.child.groups
        at = model.variable(cost=float(kind.lunches.costs[lunch]))
        terms["given", number, part][at] = 1.0
        items = kind.lunches.items(lunch)
        for group, item in set(items):
            if groups[group].no_repeat:
                for some in self.among:
                    if part in some:
                        terms["apart", number, some, group, item][at] = 1.0
        for group, item in items:
            food = groups[group].items[item].food
            if food in self.supplied:
                mine = terms["eaten", food, part]
                mine[at] = mine.get(at, 0.0) - 1.0
        for mean, (place, _bound) in enumerate(kind.lunches.child.means):
            value = sum(groups[group].items[item].values[place] for group, item in items)
            terms["mean", number, mean][at] = value / mean_unit(kind, mean)

    def _row(self, model: Model, name: Name, terms: Mapping[int, float]) -> int:
        what, number, *rest = name
        if what == "eaten":
            return model.row({**terms, model.variable(cost=MISSED): 1.0}, at_least=0)
        assert isinstance(number, int)  # noqa: S101 - all other rows are of a kind
        kind = self.kinds[number]
        if what == "given":
            lunches = kind.many * len(self.own[number][int(str(rest[0]))])
            return model.row({**terms, model.variable(cost=NOT_GIVEN): 1.0}, lunches, lunches)
        if what == "apart":
            some, group, _item = rest
            assert isinstance(some, tuple)  # noqa: S101 - named so above
            days = [day for part in some for day in self.own[number][part]]
            times = days_apart(days, kind.lunches.child.groups[int(str(group))].no_repeat)
            return model.row(terms, at_most=kind.many * times)
        mean = int(str(rest[0]))
        days_of_all = kind.many * len(kind.days)
        bound = kind.lunches.child.means[mean][1] * days_of_all / mean_unit(kind, mean)
        over = model.variable(cost=MISSED * len(kind.days))
        return model.row({**terms, over: -1.0}, at_most=bound)

    def priced(self, laid: _Laid, found: Solution) -> tuple[float, dict[_Column, None]]:
        """What no plan can be below by these prices, and the lunches of which more is to be expected."""
        bound, more = found.cost, dict[_Column, None]()
        for number, kind in enumerate(self.kinds):
            for part in range(len(self.parts)):
                lunches = kind.many * len(self.own[number][part])
                if not lunches:
                    continue
                prices = self._prices(laid, found, number, part)
                bound += lunches * min(0.0, float(prices.min()))
                lower = np.flatnonzero(prices < -NEAR)
                if len(lower) > ADDED:
                    lower = lower[np.argpartition(prices[lower], ADDED)[:ADDED]]
                more |= {_Column(number, part, int(lunch)): None for lunch in lower}
        return bound, more

    def _prices(self, laid: _Laid, found: Solution, number: int, part: int) -> Numbers:
        """What each lunch of a kind costs in a part more than the rows are ready to pay for it."""

        def pays(*name: object) -> float:
            row = laid.rows.get(name)
            return 0.0 if row is None else found.duals[row]

        kind = self.kinds[number]
        child = kind.lunches.child
        means = [
            (place, pays("mean", number, mean) / mean_unit(kind, mean)) for mean, (place, _) in enumerate(child.means)
        ]
        paid: list[list[float]] = []
        for at, group in enumerate(child.groups):
            mine = []
            for place, item in enumerate(group.items):
                pay = sum(pays("apart", number, some, at, place) for some in self.among if part in some)
                pay -= pays("eaten", item.food, part)
                mine.append(pay + sum(price * item.values[row] for row, price in means if price))
            paid.append(mine)
        prices: Numbers = kind.lunches.costs - kind.lunches.sums(paid)
        return prices - pays("given", number, part)
