"""The rows that tie lunches together, as a model of some lunches: which is given in which part of the days.

A choice a kind of children, part and lunch. What one lunch costs and misses is worked out beforehand
(``domain/plan/all_lunches``), so that the model has rows only for what ties lunches together: a food that does not come again
too soon, the mean of all days, dishes that are made in whole batches, the stock.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from service.domain.plan.all_lunches import MISSED, AllLunches, Numbers, unit_of
from service.planning.solver import NO_END, Model, Solution


class Kind(NamedTuple):
    """Children of whom everything is the same: how many, their lunches, and the days of each part.

    ``parts``: places of their own days; on all days of a part they are given the same; empty where they are not there.
    ``round``: the parts come again in the same order, so that the first follows on the last.
    """

    many: int
    lunches: AllLunches
    parts: tuple[tuple[int, ...], ...]
    round: bool = False

    @property
    def days(self) -> int:
        """On how many days they are given a lunch."""
        return sum(len(part) for part in self.parts)


class Supply(NamedTuple):
    """Where portions of a food come from. ``cost``: of one unit, in lunches of the usual price; ``size``: its portions.

    ``most``: units there can be; ``parts``: parts of the plan in which they can be eaten. ``whole``: units are whole numbers
    (parts of a batch). ``stock``: they are there already.
    """

    food: str
    cost: float
    size: float
    most: int
    parts: frozenset[int]
    whole: bool
    stock: bool


Column = tuple[int, int, int]
"""Kind, part, lunch."""
Span = tuple[int, ...]
"""Parts in a row."""


def mean_unit(kind: Kind, mean: int) -> float:
    """What the sum of a mean over all days is measured in: its bound, or the largest value where the bound is nil."""
    place, bound = kind.lunches.child.means[mean]
    values = (abs(item.values[place]) for group in kind.lunches.child.groups for item in group.items)
    return unit_of(bound, max(values, default=0)) * max(1, kind.days)


def spans_of(kind: Kind, group: int) -> list[Span]:
    """Parts in a row among which a food of a group comes once at most."""
    used = [part for part, own in enumerate(kind.parts) if own]
    apart = kind.lunches.child.groups[group].no_repeat
    if not apart or not used:
        return []
    if kind.round and len(used) > apart + 1:
        return [tuple(used[(at + step) % len(used)] for step in range(apart + 1)) for at in range(len(used))]
    return [tuple(used[at : at + apart + 1]) for at in range(max(1, len(used) - apart))]


@dataclass
class Master:
    """The model of some columns. ``extra``: what a portion of a food costs besides, by food key."""

    kinds: Sequence[Kind]
    supplies: Sequence[Supply]
    costs: Sequence[Numbers]
    """Of each kind, what each lunch costs."""
    model: Model = field(default_factory=Model)
    columns: dict[Column, int] = field(default_factory=dict)
    rows: dict[tuple[object, ...], dict[int, float]] = field(default_factory=dict)
    numbers: dict[tuple[object, ...], int] = field(default_factory=dict)
    """The rows by what they are of, and their numbers in the model."""

    def build(self, columns: Sequence[Column], *, whole: bool, free: bool = False) -> "Master":
        """Lay out the model of some columns. ``free``: foods may come again at once, where all is settled already."""
        self.supplied = frozenset(one.food for one in self.supplies)
        self.spans = {
            (number, group): spans_of(kind, group)
            for number, kind in enumerate(self.kinds)
            for group in range(len(kind.lunches.child.groups))
        }
        for column in columns:
            self._add_column(column, whole=whole, free=free)
        self._add_supplies(whole=whole)
        for name, terms in self.rows.items():
            self._add_row(name, terms)
        return self

    def _add_column(self, column: Column, *, whole: bool, free: bool) -> None:
        number, part, lunch = column
        kind = self.kinds[number]
        days = len(kind.parts[part])
        groups = kind.lunches.child.groups
        cost = kind.many * days * float(self.costs[number][lunch])
        at = self.model.variable(0, 1 if whole else NO_END, cost, whole=whole)
        self.columns[column] = at
        self._term(("given", number, part), at, 1.0)
        items = kind.lunches.items(lunch)
        for group, item in () if free else set(items):
            for span in self.spans[(number, group)]:
                if part in span:
                    self._term(("apart", number, span, group, item), at, 1.0)
        for group, item in items:
            food = groups[group].items[item].food
            if food in self.supplied:
                self._term(("eaten", food, part), at, -float(kind.many * days))
        for mean, (place, _bound) in enumerate(kind.lunches.child.means):
            value = sum(groups[group].items[item].values[place] for group, item in items)
            self._term(("mean", number, mean), at, days * value / mean_unit(self.kinds[number], mean))

    def _term(self, name: tuple[object, ...], at: int, weight: float) -> None:
        terms = self.rows.setdefault(name, {})
        terms[at] = terms.get(at, 0.0) + weight

    def _add_supplies(self, *, whole: bool) -> None:
        """What is there or is made for each food and part; what is eaten beyond it, at the cost of much."""
        for one in self.supplies:
            units = self.model.variable(0, one.most, one.cost, whole=whole and one.whole)
            flows: dict[int, float] = {}
            for part in one.parts:
                flow = self.model.variable()
                flows[flow] = -1.0
                self._term(("eaten", one.food, part), flow, 1.0)
            self.model.row({units: one.size, **flows}, at_least=0)
        for food in sorted(self.supplied):
            for part in range(max((len(kind.parts) for kind in self.kinds), default=0)):
                self._term(("eaten", food, part), self.model.variable(cost=MISSED), 1.0)

    def _add_row(self, name: tuple[object, ...], terms: Mapping[int, float]) -> None:
        what = name[0]
        if what == "given":
            self.numbers[name] = self.model.row(terms, 1, 1)
        elif what == "apart":
            self.numbers[name] = self.model.row(terms, at_most=1)
        elif what == "eaten":
            self.numbers[name] = self.model.row(terms, at_least=0)
        else:
            _what, number, mean = name
            assert isinstance(number, int)  # noqa: S101 - named so above
            assert isinstance(mean, int)  # noqa: S101 - likewise
            kind = self.kinds[number]
            over = self.model.variable(cost=MISSED * kind.many * kind.days)
            bound = kind.lunches.child.means[mean][1] * kind.days / mean_unit(self.kinds[number], mean)
            self.numbers[name] = self.model.row({**terms, over: -1.0}, at_most=bound)

    def priced(self, found: Solution, number: int, part: int) -> Numbers:
        """What each lunch of a kind and part costs more than the rows are ready to pay for it."""
        kind = self.kinds[number]
        child = kind.lunches.child
        days = len(kind.parts[part])
        means = [
            (place, days * self._pays(found, ("mean", number, mean)) / mean_unit(self.kinds[number], mean))
            for mean, (place, _bound) in enumerate(child.means)
        ]
        paid: list[list[float]] = []
        for group, one in enumerate(child.groups):
            spans = [span for span in self.spans[(number, group)] if part in span]
            mine = []
            for item, food in enumerate(one.items):
                pays = sum(self._pays(found, ("apart", number, span, group, item)) for span in spans)
                pays -= kind.many * days * self._pays(found, ("eaten", food.food, part))
                pays += sum(pay * food.values[place] for place, pay in means if pay)
                mine.append(pays)
            paid.append(mine)
        prices: Numbers = kind.many * days * self.costs[number] - kind.lunches.sums(paid)
        return prices - self._pays(found, ("given", number, part))

    def mean_prices(self, found: Solution) -> tuple[float, ...]:
        """What the bound of each mean of the first kind is worth, a unit."""
        means = self.kinds[0].lunches.child.means if self.kinds else ()
        return tuple(self._pays(found, ("mean", 0, mean)) for mean in range(len(means)))

    def _pays(self, found: Solution, name: tuple[object, ...]) -> float:
        row = self.numbers.get(name)
        return 0.0 if row is None else found.duals[row]
