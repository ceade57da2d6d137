"""The lunch of each child on each day: the cheapest that were found in the time, and what no plan can be below.

The solver is given the whole at once where that is small; it begins from a plan that is made day by day, or of the lunches that the
bound showed to be of use where that is better, and then mended part by
part (a few children, or a few days, are chosen anew while all else stays: P. Shaw, CP 1998, LNCS 1520, 417). Children of whom
everything is the same are given the same at first, and are looked at one by one then.
"""

import time
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from random import Random
from typing import NamedTuple

from service.domain.plan.all_lunches import AllLunches, better_days, one_by_one
from service.planning.lunches_bound import GAP, Column, Used, least_cost, used_in_whole
from service.planning.lunches_model import Eater, Item, Kind, LunchesModel, Supply, spans_of, worth_having
from service.planning.solver import NO_END, Model, Progress, solve

PART = 600
"""Choices that are open at a time, where the plan is mended part by part."""
WHOLE = 3_000
"""Choices up to which the whole is given to the solver at once; limits of ours."""
SECONDS_OF_PART = 2.0
SECONDS_OF_COST = 10.0
"""What the cost of chosen lunches may take on a busy machine; it is seldom a tenth of a second."""
MENDING = 0.35
"""The share of the time for mending part by part, where the whole is given to the solver then."""
BOUNDING = 0.3
"""The share of the time for what no plan can be below, before the search for a better one; it is seldom used up."""
CHOOSING = 0.5
"""The share of the time left then for a plan of the lunches that the bound showed to be of use, and for who is given which."""
FRUITLESS = 6
"""Parts in a row in which nothing better is found, after which they become twice as large."""
SEED = 1
SHORTEST = 0.02
Tick = Callable[[Progress], bool]
Given = tuple[tuple[int, int], ...]
"""The items of a lunch, each as the place of its group and its place in the group."""
Choices = Mapping[Item, int]
"""How many of each item are given; what is not named is not given."""


class FoundLunches(NamedTuple):
    """The lunches of each kind, by child and day of theirs; the sum of costs, and what it cannot be below."""

    lunches: tuple[tuple[tuple[Given, ...], ...], ...]
    cost: float
    bound: float


class _Plan(NamedTuple):
    """What was chosen, with its cost; ``units``: of each supply, so that the solver can begin from it."""

    choices: Choices
    units: tuple[int, ...]
    cost: float


class _Watch:
    """The time that is left, and who is told of the progress."""

    def __init__(self, seconds: float, told: Tick | None) -> None:
        self.begun = time.monotonic()
        self.end = self.begun + seconds
        self.told = told
        self.best = NO_END
        self.bound = -NO_END
        self.stopped = False

    @property
    def left(self) -> float:
        return max(SHORTEST, self.end - time.monotonic())

    @property
    def over(self) -> bool:
        """Whether the time is up, somebody stopped the search, or nothing better can be found."""
        proven = self.best < NO_END and self.best - self.bound <= GAP * abs(self.best)
        return proven or self.stopped or time.monotonic() >= self.end

    def tell(self, best: float = NO_END, bound: float = -NO_END) -> bool:
        """Tell the progress of the whole; whether to stop."""
        self.best, self.bound = min(self.best, best), max(self.bound, bound)
        if self.told is not None and not self.stopped:
            now = Progress(time.monotonic() - self.begun, self.best, min(self.bound, self.best))
            self.stopped = bool(self.told(now))
        return self.stopped or time.monotonic() >= self.end


def find_lunches(
    kinds: Sequence[Kind], supplies: Sequence[Supply], seconds: float, told: Tick | None = None
) -> FoundLunches:
    """The cheapest lunches for all children and days; stopped by the clock or by ``told``, the best so far."""
    watch = _Watch(seconds, told)
    supplies = worth_having(supplies)
    watch.bound = _sum_of_cheapest(kinds)
    alike = _Search(LunchesModel(kinds, supplies, [Eater(at, one.many) for at, one in enumerate(kinds)]).build(), watch)
    best = alike.costed(_day_by_day(kinds, supplies))
    if best.cost == NO_END:
        best = alike.costed(_in_turn(kinds))
    watch.tell(best.cost)
    single = _each(kinds)
    each = alike if len(single) == len(kinds) else _Search(LunchesModel(kinds, supplies, single).build(), watch)
    small = len(each.of.choices) <= WHOLE
    columns = least_cost(kinds, supplies, BOUNDING * watch.left, lambda bound: watch.tell(bound=bound))
    chosen = _chosen(each, columns)
    until = watch.end - (1 - MENDING) * watch.left if small else watch.end
    if chosen is not None and chosen.cost < best.cost:
        best = chosen
    elif each is not alike:
        best = alike.mended(best, watch.end - watch.left / 2 if not small else until - (until - time.monotonic()) / 2)
        best = each.costed(_to_each(best.choices, alike.of.eaters))
    best = each.mended(best, until)
    if small:
        best = each.whole(best)
    return FoundLunches(_lunches(kinds, best.choices), best.cost, min(watch.bound, best.cost))


def fill_open_days(
    kinds: Sequence[Kind],
    supplies: Sequence[Supply],
    kept: Sequence[Sequence[Sequence[int | None]]],
    seconds: float,
    told: Tick,
) -> list[list[list[Given]]]:
    """The lunches of all days where those of some stay: the cheapest for the others that are found in the time.

    ``kept``: of each kind, by child and day of theirs, the number of the lunch that stays; None: one is to be found. No food comes
    too soon as far as what stays allows.
    """
    found = [[_begun(kind, days) for days in some] for kind, some in zip(kinds, kept, strict=True)]
    children = [(kind, days) for kind, some in zip(kinds, kept, strict=True) for days in some]
    open_ = {
        (place, day)
        for place, (kind, days) in enumerate(children)
        for day, one in zip(kind.days, days, strict=True)
        if one is None
    }
    if not open_:
        return found
    watch, choices = _Watch(seconds, told), _choices_of(kinds, found)
    some_again = [
        one if all(_kept_apart(one, days) for days in some) else one._replace(lunches=_however_soon(one.lunches))
        for one, some in zip(kinds, kept, strict=True)
    ]
    all_again = [one._replace(lunches=_however_soon(one.lunches)) for one in kinds]
    for of_kinds in (some_again, all_again):
        filled = _Search(LunchesModel(of_kinds, worth_having(supplies), _each(kinds)).build(), watch).filled(
            choices, open_
        )
        if filled.cost < NO_END:
            return [[list(days) for days in some] for some in _lunches(kinds, filled.choices)]
    return found


def _begun(kind: Kind, kept: Sequence[int | None]) -> list[Given]:
    """The lunches that stay, and for the other days the cheapest one by one."""
    fixed = {place: one for place, one in enumerate(kept) if one is not None}
    return [kind.lunches.items(number) for number in one_by_one(kind.lunches, len(kept), fixed)]


def _kept_apart(kind: Kind, days: Sequence[int | None]) -> bool:
    """Whether no food of the lunches that stay comes too soon."""
    foods = [set(() if one is None else kind.lunches.items(one)) for one in days]
    return all(
        sum((at, item) in foods[day] for day in span) <= 1
        for at, group in enumerate(kind.lunches.child.groups)
        for span in spans_of(range(len(days)), group.no_repeat)
        for item in range(len(group.items))
    )


def judge_lunches(
    kinds: Sequence[Kind],
    supplies: Sequence[Supply],
    lunches: Sequence[Sequence[Sequence[Sequence[tuple[int, int]]]]],
    seconds: float,
) -> FoundLunches:
    """What lunches cost that are chosen already, with as many batches as they need, and what no plan can be below.

    ``lunches``: of each kind by child and day of theirs, as they are found. Foods may come again sooner than they should.
    """
    supplies = worth_having(supplies)
    again = [one._replace(lunches=_however_soon(one.lunches)) for one in kinds]
    choices = _choices_of(kinds, lunches)
    watch = _Watch(seconds, None)
    watch.bound = _sum_of_cheapest(kinds)
    cost = _Search(LunchesModel(again, supplies, _each(kinds)).build(), watch).costed(choices).cost
    least_cost(kinds, supplies, watch.left, lambda bound: watch.tell(bound=bound))
    return FoundLunches(_lunches(kinds, choices), cost, min(watch.bound, cost))


def _each(kinds: Sequence[Kind]) -> list[Eater]:
    """Every child of the kinds by itself."""
    return [Eater(at) for at, one in enumerate(kinds) for _child in range(one.many)]


def _choices_of(
    kinds: Sequence[Kind], lunches: Sequence[Sequence[Sequence[Sequence[tuple[int, int]]]]]
) -> dict[Item, int]:
    """Lunches of each kind, by child and day of theirs, as choices of every child by itself."""
    choices: dict[Item, int] = {}
    children = [(kind, days) for kind, some in zip(kinds, lunches, strict=True) for days in some]
    for place, (kind, days) in enumerate(children):
        for day, items in zip(kind.days, days, strict=True):
            for group, item in items:
                key = Item(place, day, group, item)
                choices[key] = choices.get(key, 0) + 1
    return choices


def _sum_of_cheapest(kinds: Sequence[Kind]) -> float:
    return sum(kind.many * len(kind.days) * kind.lunches.least_cost for kind in kinds)


def _however_soon(lunches: AllLunches) -> AllLunches:
    """The same lunches, of which each food may come again on the next day."""
    groups = tuple(group._replace(no_repeat=0) for group in lunches.child.groups)
    return replace(lunches, child=lunches.child._replace(groups=groups))


class _Search:
    """The search in one model."""

    def __init__(self, of: LunchesModel, watch: _Watch) -> None:
        self.of, self.watch = of, watch

    def costed(self, choices: Choices) -> _Plan:
        """A plan of these choices, with as many batches as they need. It may bring foods again too soon: then it costs no end."""
        found = solve(self._open(choices, ()), seconds=max(SECONDS_OF_COST, self.watch.left))
        if not found.values:
            return _Plan(choices, (), NO_END)
        return _Plan(choices, tuple(found.whole(at) for at in self.of.units), found.cost)

    def filled(self, choices: Choices, open_: Collection[tuple[int, int]]) -> _Plan:
        """The best plan that is found with these choices on all but some days, by eater and day; at no end of cost without one."""
        part = [item for item in self.of.choices if (item.eater, item.day) in open_]
        return self._solved(_Plan(choices, (), NO_END), part, self.watch.left)

    def among(self, used: Collection[Used], until: float) -> _Plan | None:
        """The best plan that is found in which each child is given what its kind is given on the day; None without one."""
        part = [
            item
            for item in self.of.choices
            if Used(self.of.eaters[item.eater].kind, item.day, item.group, item.item) in used
        ]
        found = self._solved(_Plan({}, (), NO_END), part, max(SHORTEST, until - time.monotonic()))
        if found.cost == NO_END:
            return None
        self.watch.tell(found.cost)
        return found

    def mended(self, best: _Plan, until: float) -> _Plan:
        """A plan that is better, or the same: part by part, in larger parts where nothing better is found in smaller ones."""
        size, fruitless = PART, 0
        for some in self._orders():
            left = until - time.monotonic()
            if self.watch.over or left <= SHORTEST:
                break
            part = _first(some, size)
            found = self._solved(best, part, min(left, SECONDS_OF_PART * size / PART))
            fruitless = 0 if found.cost < best.cost - GAP * abs(best.cost) / 10 else fruitless + 1
            best = found
            self.watch.tell(best.cost)
            if fruitless >= FRUITLESS:
                if len(part) == len(self.of.choices):
                    break
                size, fruitless = 2 * size, 0
        return best

    def whole(self, best: _Plan) -> _Plan:
        """The best plan of all that is found in the time that is left, and the bound."""
        if self.watch.over:
            return best

        def tick(now: Progress) -> bool:
            return self.watch.tell(NO_END if now.best is None else now.best, now.bound)

        return self._solved(best, self.of.choices, self.watch.left, tick)

    def _solved(self, best: _Plan, part: Sequence[Item] | Choices, seconds: float, tick: Tick | None = None) -> _Plan:
        start = {at: float(best.choices.get(item, 0)) for item, at in self.of.choices.items()}
        start |= {at: float(number) for at, number in zip(self.of.units, best.units, strict=False)}
        whole = tick is not None
        found = solve(
            self._open(best.choices, part),
            seconds=seconds,
            gap=GAP,
            start=start if best.units else None,
            tick=tick or (lambda _now: self.watch.tell()),
        )
        if whole:
            self.watch.tell(bound=found.bound)
        if not found.values or found.cost >= best.cost:
            return best
        choices = {item: found.whole(at) for item, at in self.of.choices.items() if found.whole(at)}
        return _Plan(choices, tuple(found.whole(at) for at in self.of.units), found.cost)

    def _open(self, choices: Choices, part: Sequence[Item] | Choices) -> Model:
        """The model with the choices of a part open and all others as they are."""
        model = self.of.model
        lower, upper = list(model.lower), list(model.upper)
        open_ = set(part)
        for item, at in self.of.choices.items():
            if item not in open_:
                lower[at] = upper[at] = float(choices.get(item, 0))
        return Model(lower, upper, model.cost, model.whole, model.rows)

    def _orders(self) -> Iterator[list[list[Item]]]:
        """Orders in which parts are open, without end: all days of a child after another, a day of all after another, in turn."""
        draws = Random(SEED)  # noqa: S311 - which part comes next is no secret
        by_eater = self._by(lambda one: one.eater)
        by_day = self._by(lambda one: one.day)
        while True:
            for some in (by_eater, by_day):
                places = list(some)
                begin = draws.randrange(len(places)) if places else 0
                order = places[begin:] + places[:begin]
                if some is by_eater:
                    draws.shuffle(order)
                yield [some[place] for place in order]

    def _by(self, key: Callable[[Item], int]) -> dict[int, list[Item]]:
        found: dict[int, list[Item]] = {}
        for item in self.of.choices:
            found.setdefault(key(item), []).append(item)
        return found


def _chosen(each: _Search, columns: Sequence[Column]) -> _Plan | None:
    """A plan of the lunches that the bound showed to be of use; None where none is found in its share of the time."""
    watch = each.watch
    if watch.over or not columns:
        return None
    end = time.monotonic() + CHOOSING * watch.left
    used = used_in_whole(
        each.of.kinds, each.of.supplies, columns, (end - time.monotonic()) / 2, lambda _now: watch.tell()
    )
    return each.among(used, end) if used else None


def _first(some: Sequence[Sequence[Item]], most: int) -> list[Item]:
    """As many of the first as there may be choices, but one at least."""
    part: list[Item] = []
    for one in some:
        if part and len(part) + len(one) > most:
            break
        part += one
    return part


def _in_turn(kinds: Sequence[Kind]) -> dict[Item, int]:
    """The foods of each group in turn, as choices: they are as far apart as they can be."""
    found: dict[Item, int] = {}
    for place, kind in enumerate(kinds):
        for at, group in enumerate(kind.lunches.child.groups):
            for number, day in enumerate(kind.days):
                for one in range(group.least):
                    key = Item(place, day, at, (number * group.least + one) % len(group.items))
                    found[key] = found.get(key, 0) + 1
    return found


def _day_by_day(kinds: Sequence[Kind], supplies: Sequence[Supply]) -> dict[Item, int]:
    """The lunches of each kind that are cheapest by themselves, as choices; each portion of a dish at its share of a batch."""
    portions = {one.food: one.cost / one.size for one in supplies if not one.stock}
    found: dict[Item, int] = {}
    for place, kind in enumerate(kinds):
        begun = one_by_one(kind.lunches, len(kind.days), {})
        for day, number in zip(kind.days, better_days(kind.lunches, begun, portions), strict=True):
            for group, item in kind.lunches.items(number):
                key = Item(place, day, group, item)
                found[key] = found.get(key, 0) + 1
    return found


def _to_each(choices: Choices, eaters: Sequence[Eater]) -> dict[Item, int]:
    """The same for each child of a kind."""
    first = [sum(one.alike for one in eaters[:at]) for at in range(len(eaters))]
    return {
        item._replace(eater=first[item.eater] + child): number
        for item, number in choices.items()
        for child in range(eaters[item.eater].alike)
    }


def _lunches(kinds: Sequence[Kind], choices: Choices) -> tuple[tuple[tuple[Given, ...], ...], ...]:
    by_day: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for item, number in sorted(choices.items()):
        by_day.setdefault((item.eater, item.day), []).extend([(item.group, item.item)] * number)
    found = []
    first = 0
    for kind in kinds:
        places = range(first, first + kind.many)
        found.append(tuple(tuple(tuple(by_day.get((place, day), ())) for day in kind.days) for place in places))
        first += kind.many
    return tuple(found)
