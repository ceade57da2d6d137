"""What an offer must keep so that no lunch taken from it can go wrong, and what stands in the way before anything is chosen.

A child takes so many portions from each choice group. Of a row (a sum that must not be over a bound) each group can give at
most so much: the worst that can be taken from it. If the worst of all groups together keeps the bound, every lunch does.
A bound from below is the same row with its signs turned.

Source: robust rows, "the worst of each part": A. L. Soyster, Oper. Res. 21 (1973), 1154; the sum over the groups is exact
here, since what is taken from one group does not depend on the others.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple


class Row(NamedTuple):
    """One sum over a lunch that must not be over a bound, in whole parts.

    ``id``, ``label``: of the target it comes from. ``short``: it stands for a bound from below, with its signs turned.
    """

    id: str
    label: str
    bound: int
    short: bool = False


class Sized(NamedTuple):
    """A food in one of its sizes: what it adds to each row at most; what it adds to other sums may follow.

    ``unusual``: how far the size is from the one asked for; the nearer one is given where both are right.
    """

    size: int
    values: tuple[int, ...]
    unusual: float = 0.0


@dataclass(frozen=True, slots=True)
class Candidates:
    """What a child could find in a choice group, and how many it takes.

    ``foods``: each food that it may have, with the sizes it may be given in. ``choices``: how many foods it is to find at
    least. ``repeats``: the same food may be taken again. ``beside``: foods of the group that are looked at elsewhere, since a rule
    starts from them; of these and ``foods`` together ``found`` are to be found.
    """

    group: str
    foods: Mapping[str, tuple[Sized, ...]]
    least: int
    most: int
    repeats: bool
    choices: int
    beside: tuple[str, ...] = ()
    found: int = 0

    @property
    def to_find(self) -> int:
        """How many foods the child is to find, those of ``beside`` among them."""
        return max(self.choices, self.found)

    def finding(self, number: int) -> "Candidates":
        """The same where so many foods are to be found, those of ``beside`` among them."""
        certain = max(min(1, number), number - len(self.beside)) if self.beside else number
        return replace(self, choices=min(certain, self.choices) if number <= self.to_find else certain, found=number)


class InTheWay(NamedTuple):
    """A row that no choice of foods keeps: the bound, and the least that each group adds to it, by group."""

    row: Row
    least: Mapping[str, int]

    @property
    def missed_by(self) -> int:
        """By how much the bound is missed at best."""
        return sum(self.least.values()) - self.row.bound


class TooFew(NamedTuple):
    """A group in which the child may have too few foods: how many it may have, and how many it is to find."""

    group: str
    foods: int
    choices: int


def worst(values: Sequence[int], least: int, most: int, *, repeats: bool) -> int:
    """The greatest sum of ``least`` to ``most`` of some values; each once, unless it may be repeated.

    >>> worst([5, -2, 3], 1, 2, repeats=False), worst([5, -2, 3], 1, 2, repeats=True), worst([-2, -4], 1, 2, repeats=False)
    (8, 10, -2)
    """
    ranked = sorted(values, reverse=True)
    if repeats:
        return least * ranked[0] + (most - least) * max(0, ranked[0]) if ranked else 0
    return sum(ranked[:least]) + sum(value for value in ranked[least:most] if value > 0)


def least_worst(values: Sequence[int], among: Candidates, fixed: int | None = None) -> int:
    """The smallest that the worst can be, where so many foods are to be found; ``fixed``: the value of one that is there."""
    free = sorted(values)[: among.choices - (fixed is not None)]
    return worst(free if fixed is None else [*free, fixed], among.least, among.most, repeats=among.repeats)


def too_few(groups: Sequence[Candidates]) -> list[TooFew]:
    """The groups in which fewer foods are left than the child is to find."""
    return [TooFew(one.group, len(one.foods), one.choices) for one in groups if len(one.foods) < one.choices]


def in_the_way(rows: Sequence[Row], groups: Sequence[Candidates]) -> list[InTheWay]:
    """The rows that no choice keeps, the one missed by the largest part of its bound first; exact.

    ``groups``: with enough foods each (`too_few`).
    """
    found = []
    for place, row in enumerate(rows):
        least: dict[str, int] = {}
        for one in groups:
            least[one.group] = least.get(one.group, 0) + least_worst(_smallest(one, place), one)
        if sum(least.values()) > row.bound:
            found.append(InTheWay(row, least))
    return sorted(found, key=lambda one: -one.missed_by / max(abs(one.row.bound), 1))


def greatest_sum(groups: Sequence[Candidates], place: int) -> int:
    """The greatest that a sum can be whatever is chosen: with all foods at once, each in the size that adds most to it."""
    greatest = (([max(sized.values[place] for sized in sizes) for sizes in one.foods.values()], one) for one in groups)
    return sum(worst(values, one.least, one.most, repeats=one.repeats) for values, one in greatest)


def _smallest(one: Candidates, place: int) -> list[int]:
    """The smallest value of each food of a group in a row, over its sizes."""
    return [min(sized.values[place] for sized in sizes) for sizes in one.foods.values()]


def broken(
    rows: Sequence[Row], groups: Sequence[Candidates], chosen: Mapping[str, Mapping[str, int]]
) -> list[tuple[Row, int]]:
    """The rows that some lunch of a chosen offer breaks, each with the worst sum; exact.

    ``chosen``: for each group, the size of each food that is in the offer.
    """
    found = []
    for place, row in enumerate(rows):
        total = 0
        for one in groups:
            values = [
                next(sized.values[place] for sized in one.foods[food] if sized.size == size)
                for food, size in chosen[one.group].items()
                if food in one.foods
            ]
            total += worst(values, one.least, one.most, repeats=one.repeats)
        if total > row.bound:
            found.append((row, total))
    return found
