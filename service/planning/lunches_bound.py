"""What no plan of lunches can be below: whole lunches in parts on each day, whoever of a kind is given them; and what a good plan is made of.

Children of a kind are looked at together. There are far more lunches than the solver looks at: those that its prices show to be
of use are added until none is, and the bound holds for all of them at any time (column generation: P. C. Gilmore, R. E. Gomory,
Oper. Res. 9 (1961), 849; the bound: L. S. Lasdon, 1970). The same lunches given in whole numbers are near the best plan (the
restricted master as a heuristic: C. Joncour et al., Electron. Notes Discrete Math. 36 (2010), 695).
"""

import time
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from service.domain.plan.all_lunches import MISSED, Numbers, one_by_one
from service.planning.lunches_model import Eater, Kind, LunchesModel, Supply, made_only, mean_unit, spans_of
from service.planning.solver import NO_END, Model, Progress, Solution, solve

ADDED = 30
"""Lunches that are added at a time, for each kind and day."""
NOT_GIVEN = 1e4
"""What a lunch counts that is not given: so there is always an answer."""
NEAR = 1e-7
CLOSE = 0.01
"""What a lunch may cost more than the rows pay for it, in lunches of the usual price, and still be tried in whole numbers."""
SETTLED = 1e-5
"""The share of the cost by which the bound can still rise, below which no more lunches are added."""
GAP = 0.0005
"""The share of the cost within which a search in whole numbers stops."""
Name = tuple[object, ...]
"""What a row is of."""


class Column(NamedTuple):
    """One lunch on one day: kind, the place of the day among those of the kind, and the number of a lunch."""

    kind: int
    day: int
    lunch: int


class _Laid(NamedTuple):
    """The model of some columns, and its rows by what they are of."""

    model: Model
    rows: Mapping[Name, int]


class _Priced(NamedTuple):
    """What no plan can be below, the lunches of which more is to be expected, and the prices of all, of each kind and day."""

    bound: float
    more: Mapping[Column, None]
    prices: Mapping[tuple[int, int], Numbers]


class _RowOfMade(NamedTuple):
    """A row by which whoever of a kind is given so many portions of a dish once among some days needs a batch."""

    kind: Kind
    days: list[int]
    portions: float
    terms: dict[int, float]


class Used(NamedTuple):
    """An item that a kind is given on a day: places of the kind, the day, the group and the item."""

    kind: int
    day: int
    group: int
    item: int


def least_cost(
    kinds: Sequence[Kind], supplies: Sequence[Supply], seconds: float, told: Callable[[float], bool]
) -> list[Column]:
    """Tell (``told``) a bound after another, each as high as the one before or higher, until the last, or ``told`` says to stop.

    Gives the lunches that a good plan is made of, as the last prices show them; none where not all lunches of a child are known.
    """
    if not all(kind.lunches.complete for kind in kinds):
        return []
    bounding = _Bounding(kinds, supplies)
    until = time.monotonic() + seconds
    columns, close = dict.fromkeys(bounding.begun()), list[Column]()
    highest = -NO_END
    while (left := until - time.monotonic()) > 0:
        laid = bounding.laid(list(columns))
        found = solve(laid.model, seconds=left)
        if not found.duals:
            break
        priced = bounding.priced(laid, found)
        close = [one for one in columns if priced.prices[one.kind, one.day][one.lunch] <= CLOSE]
        highest = max(highest, priced.bound)
        settled = found.cost - highest <= SETTLED * abs(highest)
        if told(priced.bound) or settled or not priced.more.keys() - columns.keys():
            break
        columns |= priced.more
    return close


def used_in_whole(
    kinds: Sequence[Kind],
    supplies: Sequence[Supply],
    columns: Sequence[Column],
    seconds: float,
    tick: Callable[[Progress], bool],
) -> set[Used]:
    """What each kind is given on each day in the best plan of these lunches that is found in the time; nothing without one.

    Who of a kind is given which lunch is open: of several children one may find a food that it had the day before.
    """
    found = solve(_Bounding(kinds, supplies).laid(columns, whole=True).model, seconds=seconds, gap=GAP, tick=tick)
    given = [column for place, column in enumerate(columns) if found.values and found.whole(place)]
    return {
        Used(one.kind, kinds[one.kind].days[one.day], group, item)
        for one in given
        for group, item in kinds[one.kind].lunches.items(one.lunch)
    }


class _Bounding:
    """What ties the lunches of the days together."""

    def __init__(self, kinds: Sequence[Kind], supplies: Sequence[Supply]) -> None:
        self.kinds, self.supplies = kinds, supplies
        self.supplied, self.made = frozenset(one.food for one in supplies), made_only(supplies)
        self.days = sorted({day for kind in kinds for day in kind.days})
        self.spans = [
            [spans_of(range(len(kind.days)), group.no_repeat) for group in kind.lunches.child.groups] for kind in kinds
        ]
        """Of each kind and group, the days among which a food comes once at most."""
        self.units = [[mean_unit(kind, mean) for mean in range(len(kind.lunches.child.means))] for kind in kinds]
        whole = LunchesModel(kinds, supplies, [Eater(at, together=kind.many) for at, kind in enumerate(kinds)])
        self.eaten = [whole.most_eaten(one) if one.whole else None for one in supplies]

    def begun(self) -> list[Column]:
        """The lunches to begin with: of each day those that are cheapest, and with them some that bring no food too soon."""
        found = []
        for number, kind in enumerate(self.kinds):
            cheapest = np.argsort(kind.lunches.costs, kind="stable")[:ADDED]
            for day, apart in enumerate(one_by_one(kind.lunches, len(kind.days), {})):
                found += [Column(number, day, int(lunch)) for lunch in (apart, *cheapest)]
        return found

    def laid(self, columns: Sequence[Column], *, whole: bool = False) -> _Laid:
        """The model of some columns, the variables of which come first; ``whole``: lunches and batches in whole numbers."""
        model, terms = Model(), defaultdict[Name, dict[int, float]](dict)
        for column in columns:
            self._column(model, terms, column, whole=whole)
        made = self._rows_of_made(terms)
        for place, one in enumerate(self.supplies):
            units = model.variable(0, one.most, one.cost, whole=whole and one.whole)
            for row in made[one.food]:
                if one.days.intersection(row.days):
                    row.terms[units] = -float(row.kind.many)
            flows = {}
            for day in self.days:
                if day in one.days:
                    flow = model.variable()
                    flows[flow] = -1.0
                    terms["eaten", one.food, day][flow] = 1.0
            model.row({units: one.size, **flows}, at_least=0)
            eaten = self.eaten[place]
            if eaten:
                # No more can be eaten of it than this: see ``lunches_model``.
                number = -(-eaten // one.size)
                rest = eaten - (number - 1) * one.size
                model.row({units: rest, **flows}, at_least=rest * number - eaten)
        for what, food, eaten_on, *_rest in [name for name in terms if name[0] == "eaten"]:
            short = model.variable(cost=MISSED)
            terms[what, food, eaten_on][short] = 1.0
            for row in made[str(food)]:
                if eaten_on in row.days:
                    row.terms[short] = -1 / row.portions
        return _Laid(model, {name: self._row(model, name, mine) for name, mine in terms.items()})

    def _rows_of_made(self, terms: Mapping[Name, dict[int, float]]) -> defaultdict[str, list[_RowOfMade]]:
        """The rows by which whoever is given a dish once among some days needs a batch, by food."""
        found = defaultdict[str, list[_RowOfMade]](list)
        for number, kind in enumerate(self.kinds):
            for at, group in enumerate(kind.lunches.child.groups):
                for place, span in enumerate(self.spans[number][at]):
                    days = [kind.days[day] for day in span]
                    for item, one in enumerate(group.items):
                        if row := terms.get(("made", number, place, at, item)):
                            found[one.food].append(_RowOfMade(kind, days, one.portions, row))
        return found

    def _column(self, model: Model, terms: Mapping[Name, dict[int, float]], column: Column, *, whole: bool) -> None:
        number, day, lunch = column
        kind = self.kinds[number]
        groups = kind.lunches.child.groups
        at = model.variable(cost=float(kind.lunches.costs[lunch]), whole=whole)
        terms["given", number, day][at] = 1.0
        items = kind.lunches.items(lunch)
        for group, item in set(items):
            for place, span in enumerate(self.spans[number][group]):
                if day in span:
                    terms["apart", number, place, group, item][at] = 1.0
                    if groups[group].items[item].food in self.made:
                        terms["made", number, place, group, item][at] = 1.0
        for group, item in items:
            given = groups[group].items[item]
            if given.food in self.supplied:
                mine = terms["eaten", given.food, kind.days[day]]
                mine[at] = mine.get(at, 0.0) - given.portions
        for mean, (place, _bound) in enumerate(kind.lunches.child.means):
            value = sum(groups[group].items[item].values[place] for group, item in items)
            terms["mean", number, mean][at] = value / self.units[number][mean]

    def _row(self, model: Model, name: Name, terms: Mapping[int, float]) -> int:
        what, number, *rest = name
        if what == "eaten":
            return model.row(terms, at_least=0)
        if what == "made":
            return model.row(terms, at_most=0)
        assert isinstance(number, int)  # noqa: S101 - all other rows are of a kind
        kind = self.kinds[number]
        if what == "given":
            return model.row({**terms, model.variable(cost=NOT_GIVEN): 1.0}, kind.many, kind.many)
        if what == "apart":
            return model.row(terms, at_most=kind.many)
        mean = int(str(rest[0]))
        days_of_all = kind.many * len(kind.days)
        bound = kind.lunches.child.means[mean][1] * days_of_all / self.units[number][mean]
        over = model.variable(cost=MISSED * len(kind.days))
        return model.row({**terms, over: -1.0}, at_most=bound)

    def priced(self, laid: _Laid, found: Solution) -> _Priced:
        """What no plan can be below by the prices of a solution, and the lunches of which more is to be expected."""
        bound, more, all_prices = found.cost, dict[Column, None](), {}
        for number, kind in enumerate(self.kinds):
            for day in range(len(kind.days)):
                prices = all_prices[number, day] = self._prices(laid, found, number, day)
                bound += kind.many * min(0.0, float(prices.min()))
                lower = np.flatnonzero(prices < -NEAR)
                if len(lower) > ADDED:
                    lower = lower[np.argpartition(prices[lower], ADDED)[:ADDED]]
                more |= {Column(number, day, int(lunch)): None for lunch in lower}
        return _Priced(bound, more, all_prices)

    def _prices(self, laid: _Laid, found: Solution, number: int, day: int) -> Numbers:
        """What each lunch of a kind costs on a day more than the rows are ready to pay for it."""

        def pays(*name: object) -> float:
            row = laid.rows.get(name)
            return 0.0 if row is None else found.duals[row]

        kind = self.kinds[number]
        child = kind.lunches.child
        units = self.units[number]
        means = [(place, pays("mean", number, mean) / units[mean]) for mean, (place, _) in enumerate(child.means)]
        paid: list[list[float]] = []
        once: list[list[float]] = []
        for at, group in enumerate(child.groups):
            spans = [place for place, span in enumerate(self.spans[number][at]) if day in span]
            mine = []
            for item in group.items:
                pay = sum(price * item.values[row] for row, price in means if price)
                mine.append(pay - item.portions * pays("eaten", item.food, kind.days[day]))
            paid.append(mine)
            once.append(
                [
                    sum(pays(what, number, span, at, place) for what in ("apart", "made") for span in spans)
                    for place in range(len(group.items))
                ]
            )
        prices: Numbers = kind.lunches.costs - kind.lunches.sums(paid, once)
        return prices - pays("given", number, day)
