"""A plan of some school days: what stands on which day, what is made on which prep day, and what is moved on which evening.

Amounts are whole milligrams, portions are whole numbers. A *food key* is the id of a food of the tables, the id of a stored
own food or recipe, or the name of a food that was sent along. A child is known by its nickname, or its place as text.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import NamedTuple


class Lunch(NamedTuple):
    """A lunch that was assigned: the items of the offer, each as its group and its key in the group."""

    items: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class PlannedDay:
    """A school day: the key of the offer that stands, or the lunch of each child, and who buys the school's meal.

    ``offer``: None where lunches are assigned. ``lunches``: by child; empty where an offer stands.
    """

    day: date
    offer: str | None
    lunches: Mapping[str, Lunch] = field(default_factory=dict)
    buyers: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Batch:
    """A dish that is made on a prep day, in batches (``Fraction(1, 2)``: half a batch), and where its portions go.

    A part of a batch may make half a portion or a quarter of one: what it makes is told in full, and eaten in whole portions.
    """

    food: str
    made_on: date
    batches: Fraction
    portions: Fraction
    to_freezer: Fraction
    to_fridge: Fraction


@dataclass(frozen=True, slots=True)
class Move:
    """Portions that are taken from the freezer to the fridge on an evening, to be eaten on a day.

    ``days_before``: how many days the oldest of them was kept before it was frozen.
    """

    evening: date
    food: str
    portions: int
    for_day: date
    days_before: int = 0


@dataclass(frozen=True, slots=True)
class Need:
    """How much of a food must be there by the morning of a day, besides what is there for the days before."""

    food: str
    amount_mg: int
    portion_mg: int
    by_day: date

    @property
    def portions(self) -> int:
        """The same in portions, rounded up."""
        return -(-self.amount_mg // self.portion_mg)


@dataclass(frozen=True, slots=True)
class FromStock:
    """What is taken from a lot of the stock for a day."""

    lot: str
    food: str
    amount_mg: int
    for_day: date


@dataclass(frozen=True, slots=True)
class Short:
    """Portions of a dish that are needed by a day and that no prep day and no stock can give."""

    food: str
    portions: int
    by_day: date


@dataclass(frozen=True, slots=True)
class Plan:
    """All of it, each list in the order of its days.

    ``needs``: before anything is taken from the stock. ``left_over``: portions that are made and not needed, by food, since
    whole batches make more; ``thrown``: those of them that cannot be frozen.
    """

    days: Sequence[PlannedDay]
    needs: Sequence[Need]
    batches: Sequence[Batch]
    moves: Sequence[Move]
    from_stock: Sequence[FromStock]
    short: Sequence[Short]
    left_over: Mapping[str, Fraction]
    thrown: Mapping[str, Fraction]
