"""What the stock gives for a plan's needs, what is left to make, and what is moved from the freezer on which evening.

Of the stock what ends first is taken first, for the earliest day; from the fridge and the cupboard before the freezer.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from typing import NamedTuple

from service.domain.plan.planned import Batch, FromStock, Move, Need, Short

FREEZER, FRIDGE = "freezer", "fridge"
PLACES = (FRIDGE, "cupboard", FREEZER)
A_DAY = timedelta(days=1)
Keeps = Callable[[str, date, date | None], date | None]
"""Place, the day it was made, the evening it is moved from the freezer (None: it is not) -> the last day; None: no figure is known."""


class LotAtHand(NamedTuple):
    """Something that is there: how much of which food, where, and the last day on which it may be eaten (None: it keeps).

    ``days_before_freezing``: how many days it was kept before it was frozen, where it is.
    """

    id: str
    food: str
    amount_mg: int
    place: str
    use_by: date | None
    days_before_freezing: int = 0


class Frozen(NamedTuple):
    """How something of the stock is taken from the freezer.

    ``evenings``: on which evening before the day it is eaten it is moved to the fridge. ``keeps``: the last day on which it
    may be eaten if it is moved on an evening; None: no figure is known. ``days_before``: how long it was kept before it was frozen.
    """

    evenings: int
    keeps: Callable[[date], date | None]
    days_before: int = 0

    def in_time(self, day: date) -> bool:
        """Whether what is moved to be eaten on a day still keeps on it."""
        return _until(self.keeps(self.moved_on(day)), day)

    def moved_on(self, day: date) -> date:
        """The evening on which it is moved from the freezer to be eaten on a day."""
        return day - A_DAY * self.evenings


class DishMade(NamedTuple):
    """A dish as it is made: portions of a batch, how many parts a batch can be made in, and how long it keeps where.

    ``freezes``: whether it is frozen; without a figure for the freezer it keeps there, where only the quality suffers.
    ``thaw_evenings``: on which evening before the day it is eaten it is moved to the fridge; 1: on the evening before.
    """

    food: str
    batch_portions: int
    parts: int
    keeps: Keeps
    freezes: bool
    thaw_evenings: int = 1

    def fresh(self, made_on: date, day: date) -> bool:
        """Whether it may be eaten on a day from the fridge."""
        return made_on < day and _until(self.keeps(FRIDGE, made_on, None), day)

    def frozen(self, made_on: date, day: date) -> bool:
        """Whether it may be eaten on a day from the freezer: moved to the fridge in time to thaw, and eaten in time once thawed."""
        if not self.freezes or self.moved_on(day) <= made_on:
            return False
        best = self.keeps(FREEZER, made_on, None)
        return (best is None or self.moved_on(day) <= best) and _until(
            self.keeps(FRIDGE, made_on, self.moved_on(day)), day
        )

    def moved_on(self, day: date) -> date:
        """The evening on which it is moved from the freezer to be eaten on a day."""
        return day - A_DAY * self.thaw_evenings


class Flow(NamedTuple):
    """Portions of what is made on a prep day that are eaten on a day, from the fridge or the freezer."""

    made_on: date
    day: date
    place: str
    portions: int


def may_be_eaten(lot: LotAtHand, day: date, frozen: Mapping[str, Frozen]) -> bool:
    """Whether something of the stock still keeps on a day, once thawed where it is frozen. ``frozen``: each lot in the freezer, by id."""
    if lot.place == FREEZER and not frozen[lot.id].in_time(day):
        return False
    return lot.use_by is None or day <= lot.use_by


class Used(NamedTuple):
    """What is taken from the stock, what moves with it, and what is needed besides."""

    taken: list[FromStock]
    moves: list[Move]
    left: list[Need]


def use_stock(
    needs: Sequence[Need],
    lots: Iterable[LotAtHand],
    dishes: Iterable[str],
    frozen: Mapping[str, Frozen],
) -> Used:
    """Take what the stock gives, for the earliest day first, of what ends first.

    ``dishes``: taken in whole portions. ``frozen``: each lot that is in the freezer, by id; it is left there where it would not
    keep, once thawed, until the day it is for.

    >>> monday, tuesday = date(2026, 11, 30), date(2026, 12, 1)
    >>> lots = [LotAtHand("a", "soup", 500_000, "freezer", None), LotAtHand("b", "soup", 200_000, "fridge", monday)]
    >>> needs = [Need("soup", 400_000, 200_000, monday), Need("soup", 200_000, 200_000, tuesday)]
    >>> used = use_stock(needs, lots, {"soup"}, {"a": Frozen(1, lambda evening: evening + 2 * A_DAY)})
    >>> [(one.lot, one.amount_mg, one.for_day.day) for one in used.taken], used.left
    ([('b', 200000, 30), ('a', 200000, 30), ('a', 200000, 1)], [])
    """
    whole = set(dishes)
    ordered = sorted(lots, key=lambda one: (one.use_by or date.max, PLACES.index(one.place), one.id))
    there = {one.id: one.amount_mg for one in ordered}
    taken: list[FromStock] = []
    moves: list[Move] = []
    left: list[Need] = []
    for need in sorted(needs, key=lambda one: (one.by_day, one.food)):
        open_mg = need.amount_mg
        for lot in ordered:
            if lot.food != need.food or open_mg <= 0 or not may_be_eaten(lot, need.by_day, frozen):
                continue
            mg = min(there[lot.id], open_mg)
            if need.food in whole:
                mg = min(there[lot.id] // need.portion_mg, -(-open_mg // need.portion_mg)) * need.portion_mg
            if mg <= 0:
                continue
            there[lot.id] -= mg
            open_mg -= mg
            taken.append(FromStock(lot.id, lot.food, mg, need.by_day))
            if lot.place == FREEZER:
                moves.append(
                    Move(
                        frozen[lot.id].moved_on(need.by_day),
                        lot.food,
                        -(-mg // need.portion_mg),
                        need.by_day,
                        frozen[lot.id].days_before,
                    )
                )
        if open_mg > 0:
            left.append(Need(need.food, open_mg, need.portion_mg, need.by_day))
    return Used(taken, moves, left)


class Made(NamedTuple):
    """What is made of a dish: its batches, what moves from the freezer, what is short, and what is left over."""

    batches: list[Batch]
    moves: list[Move]
    short: list[Short]
    left_over: Fraction
    thrown: Fraction


def made_of(
    dish: DishMade, needs: Mapping[date, int], batches_made: Mapping[date, Fraction], flows: Iterable[Flow]
) -> Made:
    """Batches and moves from what was decided. ``needs``: portions by day; ``batches_made``: batches by prep day.

    What is left over goes to the freezer where the dish is frozen; otherwise it stays in the fridge, and is thrown at last.
    """
    flowing = [one for one in flows if one.portions]
    batches: list[Batch] = []
    moves: list[Move] = []
    over = thrown = Fraction(0)
    for made_on, number in sorted(batches_made.items()):
        if not number:
            continue
        portions = number * dish.batch_portions
        mine = [one for one in flowing if one.made_on == made_on]
        spare = portions - sum(one.portions for one in mine)
        frozen = sum(one.portions for one in mine if one.place == FREEZER)
        to_freezer = frozen + (spare if dish.freezes else Fraction(0))
        over += spare
        thrown += Fraction(0) if dish.freezes else spare
        batches.append(Batch(dish.food, made_on, number, portions, to_freezer, portions - to_freezer))
        moves += [
            Move(dish.moved_on(one.day), dish.food, one.portions, one.day) for one in mine if one.place == FREEZER
        ]
    given: dict[date, int] = {}
    for one in flowing:
        given[one.day] = given.get(one.day, 0) + one.portions
    short = [
        Short(dish.food, number - given.get(day, 0), day)
        for day, number in sorted(needs.items())
        if number > given.get(day, 0)
    ]
    return Made(batches, moves, short, over, thrown)


def moves_together(moves: Iterable[Move]) -> list[Move]:
    """The moves of an evening, those of the same food for the same day as one, in order."""
    found: dict[tuple[date, str, date], Move] = {}
    for one in moves:
        key = (one.evening, one.food, one.for_day)
        other = found.get(key, Move(*key[:2], 0, one.for_day))
        oldest = max(one.days_before, other.days_before)
        found[key] = replace(one, portions=one.portions + other.portions, days_before=oldest)
    return [found[key] for key in sorted(found)]


def _until(last: date | None, day: date) -> bool:
    return last is not None and day <= last
