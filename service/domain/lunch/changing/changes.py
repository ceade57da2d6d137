"""What a change to a lunch, a week or an offer is, and which changes come first: the search that all of them share.

A job lists the changes that may be made and has them judged: a lunch by its targets (``ranking``), a week by its days and
means, a standard of frequencies by its rules, an offer by an exact count. What each change is worth is all that the
choice of the best needs to know. A change that breaks what was kept is never offered.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, Literal, NamedTuple, TypeVar

from service.domain.foods.amounts import NOTHING, ItemVector, Portion
from service.domain.foods.food import Food
from service.domain.lunch.totals_arrays import Bounds, bounds_of

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

ChangeKind = Literal["portion", "swap", "add", "remove", "form", "read", "keep", "take", "with"]
Where = TypeVar("Where")
After = TypeVar("After")


class Move(NamedTuple):
    """What goes out of one lunch and what comes in, as measures.

    ``day``: place of the lunch among the days of a week, 0 where there is only one; ``item``: place of the item that
    goes out or changes among the items of that lunch.
    """

    out: ItemVector | None
    into: ItemVector | None
    day: int = 0
    item: int | None = None


@dataclass(frozen=True, slots=True)
class Change(Generic[Where]):
    """One possible change, with all that is needed to judge it, to say it and to make it.

    ``where``: the moves of a lunch or a week, or the place in an offer. ``out`` and ``into``: the food that goes (or
    changes) and what comes in; ``times``: for another portion on several days, as a multiple of what is packed.
    """

    kind: ChangeKind
    where: Where
    size: float
    """How much is changed (milligrams of food for a lunch or a week): the smaller change comes first among equals."""
    family: tuple[str, ...]
    """Changes of one family are alike (same kind, same item, same sort of food): one of them is shown."""
    key: tuple[str, ...]
    """Breaks ties."""
    out: Food | None = None
    into: Portion | None = None
    fixes_beside: tuple[str, ...] = ()
    """Problems apart from the targets that the change fixes: an allergen, a choking form."""
    form: str | None = None
    times: float | None = None
    ahead: float = 0.0
    """By how many points of the score it comes before another that gains as much; below 0: behind it."""
    must: bool = False
    """Takes away what forbids packing the lunch: made whatever targets it breaks and whatever the score comes to."""


Moves = tuple[Move, ...]
LunchChange = Change[Moves]
"""A change to one lunch or to the lunches of a week."""


@dataclass(frozen=True, slots=True)
class Judged(Generic[Where, After]):
    """One change (or several made together), judged.

    ``worth``: figures compared one after the other, more comes first; ``fixes``: ids of the targets or rules it
    fixes; ``after``: what comes out, e.g. the score of the lunch.
    """

    changes: tuple[Change[Where], ...]
    worth: tuple[float, ...]
    fixes: tuple[str, ...]
    after: After
    eases: tuple[str, ...] = ()
    """Ids of the targets of which there is clearly less too much after it, though still too much."""

    @property
    def change(self) -> Change[Where]:
        """The first change, for those made alone."""
        return self.changes[0]

    @property
    def all_fixes(self) -> tuple[str, ...]:
        """What is fixed apart from the targets, then the targets."""
        return (*(one for change in self.changes for one in change.fixes_beside), *self.fixes)

    @property
    def alike(self) -> tuple[str, ...]:
        """Tells those that fix the same: what is wrong with one item, or else the same targets."""
        beside = tuple(one for change in self.changes for one in change.fixes_beside)
        out = self.change.out
        return ("" if out is None else out.name, *beside) if beside else self.fixes


def best_changes(
    judged: Iterable[Judged[Where, After]],
    limit: int | None,
    *,
    most_alike: int | None = None,
    confirmed: Callable[[Judged[Where, After]], Judged[Where, After] | None] | None = None,
    looked_at: int | None = None,
) -> list[Judged[Where, After]]:
    """The ``limit`` best changes, best first: by worth, then the smaller, then by key; one of each family.

    ``most_alike``: how many that fix just the same come before those that fix something else. ``confirmed``: judges a
    change more closely before it is taken, None for one that does not hold; ``looked_at``: how many are taken at most.

    Source: ours.

    >>> def one(key, worth, size):
    ...     change = Change("add", (), size, (key,), (key,))
    ...     return Judged((change,), (worth,), (), 0.0)
    ...
    >>> found = best_changes([one("cake", 0.0, 10), one("pear", 2.0, 90), one("apple", 2.0, 80)], 2)
    >>> [judged.change.key[0] for judged in found]  # the worth first, then the smaller
    ['apple', 'pear']
    """
    found: list[Judged[Where, After]] = []
    families: set[tuple[tuple[str, ...], ...]] = set()
    for one in sorted(judged, key=_order):
        family = tuple(sorted(change.family for change in one.changes))
        # Asked before the closer look, which is the slow part.
        if family in families:
            continue
        taken = one if confirmed is None else confirmed(one)
        if taken is None:
            continue
        families.add(family)
        found.append(taken)
        if len(found) == looked_at:
            break
    # Those alike go behind the others and are not dropped: with few changes they still fill the list.
    if most_alike is not None:
        seen: Counter[tuple[str, ...]] = Counter()
        later: list[bool] = []
        for one in found:
            seen[one.alike] += 1
            later.append(seen[one.alike] > most_alike)
        found = [one for turn in (False, True) for one, late in zip(found, later, strict=True) if late == turn]
    return found[:limit]


def _order(one: Judged[Where, After]) -> tuple[tuple[float, ...], float, tuple[tuple[str, ...], ...]]:
    size = sum(change.size for change in one.changes)
    return tuple(-figure for figure in one.worth), size, tuple(change.key for change in one.changes)


class Moved(NamedTuple):
    """The moves of many changes as arrays.

    ``first``: where each change begins; ``day``: of each move; ``by``: what each move adds to lowest, highest,
    unbounded and nominal amounts, shape (moves, MEASURE_COUNT).
    """

    first: "npt.NDArray[np.int64]"
    day: "npt.NDArray[np.int64]"
    by: "list[npt.NDArray[np.int64]]"


def moved_by(changes: Sequence[LunchChange]) -> Moved:
    """What changes move; each vector is built once, however many changes move it."""
    import numpy as np

    places: dict[int, int] = {}
    vectors: list[ItemVector] = []

    def place_of(vector: ItemVector | None) -> int:
        one = vector or NOTHING
        if id(one) not in places:
            places[id(one)] = len(vectors)
            vectors.append(one)
        return places[id(one)]

    moves = [move for change in changes for move in change.where]
    out = np.array([place_of(move.out) for move in moves])
    into = np.array([place_of(move.into) for move in moves])
    first = np.cumsum([0] + [len(change.where) for change in changes[:-1]])
    day = np.array([move.day for move in moves])
    return Moved(first, day, [part[into] - part[out] for part in columns(bounds_of(vectors))])


def columns(one: Bounds) -> "list[npt.NDArray[np.int64]]":
    """Lowest, highest, unbounded and nominal amounts, in the order in which ``Bounds`` takes them."""
    return [one.low, one.high, one.unbounded, one.nominal]


def leaving_out(food: Food, moves: Moves, amount_mg: int, fixes_beside: tuple[str, ...] = ()) -> LunchChange:
    """A food left out; ``amount_mg``: how much of it goes in all."""
    family = ("remove", food.id + food.name, "")
    return Change("remove", moves, amount_mg, family, ("remove", food.name), food, None, fixes_beside)


def cutting(moves: Moves, into: Portion, fixes_beside: tuple[str, ...]) -> LunchChange:
    """A food cut another way, as much of it as there is; ``into``: one portion of it in its new form."""
    food = into.food
    return Change("form", moves, 0, ("form", food.name, ""), ("form", food.name), food, into, fixes_beside, into.form)


def reading(food: Food, item: int, allergens: tuple[str, ...], *, usual: bool) -> LunchChange:
    """The label of a food read for the allergens that it may name.

    ``item``: its place in the lunch; ``usual``: whether one of them is usual in such food, or nothing is known: read it first.
    """
    fixes = tuple(f"allergen:{allergen}" for allergen in allergens)
    key = ("read", food.name, str(item))
    moves = (Move(None, None, 0, item),)
    return Change("read", moves, 0 if usual else 1, ("read", food.id + food.name, ""), key, food, None, fixes)


def keeping(finding: str) -> LunchChange:
    """The lunch kept as its rule asks for; ``finding``: id of the only finding that says it is not."""
    return Change("keep", (Move(None, None),), 0, ("keep", finding, ""), ("keep", finding), fixes_beside=(finding,))


def swapping(
    food: Food, moves: Moves, amount_mg: int, into: Portion, fixes_beside: tuple[str, ...] = ()
) -> LunchChange:
    """Another food in the place of one, as often as there are moves."""
    other = into.food
    return Change(
        "swap",
        moves,
        amount_mg + into.amount_mg * len(moves),
        ("swap", food.id + food.name, other.category),
        ("swap", food.name, other.name, other.id),
        food,
        into,
        fixes_beside,
    )


def adding(into: Portion, moves: Moves) -> LunchChange:
    """One more food, as often as there are moves."""
    food = into.food
    key = ("add", food.name, food.id, str(len(moves)))
    return Change("add", moves, into.amount_mg * len(moves), ("add", "", food.category), key, None, into)


def portioning(
    food: Food, moves: Moves, amount_mg: int, into: Portion | None, quantity: float, *, more: bool, times: float | None
) -> LunchChange:
    """Another portion of a food; ``quantity``: breaks ties; ``into``: None where the portions of the days differ."""
    family = ("portion", food.id + food.name, "more" if more else "less")
    key = ("portion", food.name, f"{quantity:012.4f}")
    return Change("portion", moves, amount_mg, family, key, food, into, times=times)
