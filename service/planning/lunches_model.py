"""The lunches of all children and days as one model: which items of the offer each is given, and what is made of it when.

A choice an item, child and day. A target that is missed has a cost, so there is always a plan; a food does not come again too
soon; dishes are made in whole batches. Three rows more than the problem needs make what no plan can be below much better:

*   No more can be eaten of a batch than there are children and days apart in its reach, so that of a batch of eight, of which
    four can be eaten, all eight are paid for (mixed-integer rounding: H. Marchand, L. A. Wolsey, Oper. Res. 49 (2001), 363).
*   Whoever is given a dish on a day needs a batch that reaches this day.
*   Whoever is given a dish on one of some days, among which it comes once at most, needs a batch that reaches one of them.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import ceil
from typing import NamedTuple

from service.domain.plan.all_lunches import MISSED, AllLunches, GroupGiven, largest_values, unit_of
from service.planning.solver import NO_END, Model


class Kind(NamedTuple):
    """Children of whom everything is the same: how many, their lunches, and the places of their days among those of the plan."""

    many: int
    lunches: AllLunches
    days: tuple[int, ...]


class Supply(NamedTuple):
    """Where portions of a food come from. ``cost``: of one unit, in lunches of the usual price; ``size``: its portions.

    ``most``: units there can be; ``days``: places of the days on which they can be eaten. ``whole``: units are whole numbers
    (parts of a batch). ``stock``: they are there already. ``dish``: what is eaten on a day is taken in whole portions.
    """

    food: str
    cost: float
    size: float
    most: float
    days: frozenset[int]
    whole: bool
    stock: bool
    dish: bool = False


def worth_having(supplies: Sequence[Supply]) -> list[Supply]:
    """The same without batches that another does the work of: of the same food at the same cost, and for all their days.

    What can be eaten longer is made earlier, so that the solver need not look at batches that differ only in their day.

    >>> early = Supply("stew", 4.0, 4.0, 9, frozenset([0, 1, 2]), whole=True, stock=False)
    >>> late = early._replace(days=frozenset([1, 2]))
    >>> [(sorted(one.days), one.most) for one in worth_having([late, early])]
    [([0, 1, 2], 18)]
    """
    found: list[Supply] = []
    for one in sorted(supplies, key=lambda supply: -len(supply.days)):
        same = [at for at, other in enumerate(found) if one.whole and one.days <= other.days and _like(one, other)]
        if same:
            found[same[0]] = found[same[0]]._replace(most=found[same[0]].most + one.most)
        else:
            found.append(one)
    return found


def _like(one: Supply, other: Supply) -> bool:
    return one._replace(most=0, days=frozenset()) == other._replace(most=0, days=frozenset())


def made_only(supplies: Sequence[Supply]) -> frozenset[str]:
    """The foods that come in whole batches and in no other way: whoever is given one needs a batch of it."""
    return frozenset(one.food for one in supplies) - {one.food for one in supplies if not one.whole}


def foods_in_parts(kinds: Sequence[Kind]) -> frozenset[str]:
    """The foods of which some child gets no whole number of portions."""
    items = (item for kind in kinds for group in kind.lunches.child.groups for item in group.items)
    return frozenset(item.food for item in items if not float(item.portions).is_integer())


class Eater(NamedTuple):
    """Who is given a lunch in the model: a child, or children of a kind.

    ``alike``: so many children are given the same. ``together``: so many are given something, whoever of them is given what; a
    relaxation, which is there for what no plan can be below.
    """

    kind: int
    alike: int = 1
    together: int = 1


class Item(NamedTuple):
    """One choice: place of the eater, of the day, of the group, of the item."""

    eater: int
    day: int
    group: int
    item: int


def days_apart(days: Sequence[int], no_repeat: int) -> int:
    """On how many of some days (of one child, numbered in order) a food can be given that does not come again for some days.

    >>> days_apart([0, 1, 2, 3], 2)
    2
    """
    number, last = 0, -NO_END
    for day in sorted(days):
        if day - last > no_repeat:
            number, last = number + 1, day
    return number


def spans_of(days: Sequence[int], no_repeat: int) -> list[Sequence[int]]:
    """Days in a row among which a food comes once at most.

    >>> spans_of([0, 1, 4, 5], 2)
    [[0, 1, 4], [1, 4, 5]]
    """
    if not no_repeat or not days:
        return []
    return [days[at : at + no_repeat + 1] for at in range(max(1, len(days) - no_repeat))]


class Once(NamedTuple):
    """A food that comes once at most among some days: of each day the variable that says so, and to how many it comes.

    ``portions``: how many of it a child gets.
    """

    food: str
    given: Mapping[int, int]
    many: int
    portions: float


@dataclass
class LunchesModel:
    """The model of some eaters. ``choices``: the variable of each item; ``units``: that of each supply."""

    kinds: Sequence[Kind]
    supplies: Sequence[Supply]
    eaters: Sequence[Eater]
    model: Model = field(default_factory=Model)
    choices: dict[Item, int] = field(default_factory=dict)
    units: list[int] = field(default_factory=list)

    def build(self) -> "LunchesModel":
        """Lay out everything."""
        self._eaten: dict[tuple[str, int], dict[int, float]] = defaultdict(dict)
        self._once: list[Once] = []
        self._supplied = frozenset(one.food for one in self.supplies)
        self._in_parts = foods_in_parts(self.kinds)
        for place, eater in enumerate(self.eaters):
            self._lunches_of(place, eater)
        self._supply()
        return self

    def _lunches_of(self, place: int, eater: Eater) -> None:
        kind = self.kinds[eater.kind]
        child, many, alike = kind.lunches.child, eater.together, float(eater.alike)
        largest = largest_values(child)
        for day in kind.days:
            mine: dict[Item, int] = {}
            for at, group in enumerate(child.groups):
                most = many * (group.most if group.repeats else 1)
                for number, one in enumerate(group.items):
                    choice = self.model.variable(0, most, alike * one.cost, whole=True)
                    mine[Item(place, day, at, number)] = choice
                    if one.food in self._supplied:
                        self._eaten[one.food, day][choice] = alike * one.portions
                taken = {choice: 1.0 for item, choice in mine.items() if item.group == at}
                self.model.row(taken, many * group.least, many * group.most)
            for number, row in enumerate(child.rows):
                unit = unit_of(row.bound, largest[number])
                missed = self.model.variable(cost=MISSED * alike)
                values = {
                    choice: child.groups[item.group].items[item.item].values[number] / unit
                    for item, choice in mine.items()
                }
                terms = {choice: value for choice, value in values.items() if value}
                self.model.row({**terms, missed: -1.0}, at_most=many * row.bound / unit)
            self.choices |= mine
        for at, group in enumerate(child.groups):
            self._apart(place, at, group, kind.days, many)
        for number, (at, bound) in enumerate(child.means):
            unit = mean_unit(kind, number)
            over = self.model.variable(cost=MISSED * alike * len(kind.days))
            values = {
                self.choices[Item(place, day, group, one)]: item.values[at] / unit
                for day in kind.days
                for group, some in enumerate(child.groups)
                for one, item in enumerate(some.items)
            }
            terms = {choice: value for choice, value in values.items() if value}
            self.model.row({**terms, over: -1.0}, at_most=many * bound * len(kind.days) / unit)

    def _apart(self, place: int, at: int, group: GroupGiven, days: Sequence[int], many: int) -> None:
        """Once at most in days in a row; what is taken several times at once counts once."""
        several = group.repeats and group.most > 1
        for number in range(len(group.items)) if group.no_repeat else ():
            given = {day: self.choices[Item(place, day, at, number)] for day in days}
            if several:
                for day, choice in given.items():
                    given[day] = self.model.variable(0, many, whole=True)
                    self.model.row({choice: 1.0, given[day]: -float(group.most)}, at_most=0)
            for span in spans_of(days, group.no_repeat):
                once = Once(
                    group.items[number].food, {day: given[day] for day in span}, many, group.items[number].portions
                )
                self.model.row(dict.fromkeys(once.given.values(), 1.0), at_most=many)
                self._once.append(once)

    def _supply(self) -> None:
        """What is there or is made for each food and day; what is eaten beyond it, at the cost of much."""
        flows: dict[tuple[str, int], dict[int, float]] = defaultdict(dict)
        batches: dict[tuple[str, int], dict[int, float]] = defaultdict(dict)
        shorts: dict[tuple[str, int], int] = {}
        made = made_only(self.supplies)
        for one in self.supplies:
            units = self.model.variable(0, one.most, one.cost, whole=one.whole)
            self.units.append(units)
            mine: dict[int, float] = {}
            for day in sorted(one.days):
                if (one.food, day) in self._eaten:
                    flow = self.model.variable(whole=one.dish and one.food in self._in_parts)
                    flows[one.food, day][flow] = 1.0
                    batches[one.food, day][units] = 1.0
                    mine[flow] = -1.0
            self.model.row({units: one.size, **mine}, at_least=0)
            if one.whole:
                self._no_more_than_can_be_eaten(one, units, mine)
        for (food, day), eaten in self._eaten.items():
            short = shorts[food, day] = self.model.variable(cost=MISSED)
            given = {**flows[food, day], short: 1.0}
            self.model.row({**given, **{choice: -weight for choice, weight in eaten.items()}}, at_least=0)
            if food in made:
                for choice, portions in eaten.items():
                    most = self.model.upper[choice]
                    needed = dict.fromkeys(batches[food, day], most)
                    self.model.row({**needed, short: max(most, 1 / portions), choice: -1.0}, at_least=0)
        for once in self._once:
            if once.food in made:
                needed = {units: float(once.many) for day in once.given for units in batches[once.food, day]}
                needed |= {shorts[once.food, day]: 1 / once.portions for day in once.given}
                self.model.row({**needed, **dict.fromkeys(once.given.values(), -1.0)}, at_least=0)

    def _no_more_than_can_be_eaten(self, supply: Supply, units: int, flows: Mapping[int, float]) -> None:
        most = self.most_eaten(supply)
        number = ceil(most / supply.size)
        self.model.upper[units] = min(supply.most, number)
        if number:
            rest = most - (number - 1) * supply.size
            self.model.row({units: rest, **flows}, at_least=rest * number - most)

    def most_eaten(self, supply: Supply) -> int:
        """How many portions of a food can be eaten on the days that a supply reaches; a part of one counts as a whole one."""
        found = 0
        for eater in self.eaters:
            kind = self.kinds[eater.kind]
            reached = [number for number, day in enumerate(kind.days) if day in supply.days]
            for group in kind.lunches.child.groups:
                times = days_apart(reached, group.no_repeat) * (group.most if group.repeats else 1)
                found += (
                    eater.alike
                    * eater.together
                    * times
                    * sum(ceil(one.portions) for one in group.items if one.food == supply.food)
                )
        return found


def mean_unit(kind: Kind, mean: int) -> float:
    """What the sum of a mean over all days is measured in: its bound, or the largest value where the bound is nil."""
    place, bound = kind.lunches.child.means[mean]
    values = (abs(item.values[place]) for group in kind.lunches.child.groups for item in group.items)
    return unit_of(bound, max(values, default=0)) * max(1, len(kind.days))
