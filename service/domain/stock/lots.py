"""What is there, lot by lot, and what is taken first. Amounts are whole milligrams, so nothing gets lost in a sum."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import NamedTuple

from service.domain.stock.keeping import FREEZER


class Lot(NamedTuple):
    """What was made or bought of one food on one day and stands in one place.

    ``portion_mg``: what one portion of it weighs. ``use_by``: the last day, None where it is not known.
    """

    id: str
    food: str
    place: str
    amount_mg: int
    portion_mg: int
    made_on: date
    use_by: date | None


class Taken(NamedTuple):
    """What was taken from each lot, in the order it was taken, and what was not there."""

    parts: tuple[tuple[str, int], ...]
    short_mg: int

    @property
    def taken_mg(self) -> int:
        """The sum of the parts."""
        return sum(amount for _lot, amount in self.parts)


def in_order(lots: Iterable[Lot], food: str, on: date) -> list[Lot]:
    """The lots of a food that may be taken from on a day, what is used first in front.

    Fridge and cupboard come before the freezer, then what ends first, then what was made first. What was not yet made is
    left out, and what is past its last day: it is for the bin, except from the freezer, where the day is about quality.
    """
    here = [
        one for one in lots if one.food == food and one.amount_mg > 0 and one.made_on <= on and not is_over(one, on)
    ]
    return sorted(here, key=lambda one: (one.place == FREEZER, one.use_by or date.max, one.made_on, one.id))


def is_over(lot: Lot, on: date) -> bool:
    """Whether its last day is past; never in the freezer, where the day is about quality only."""
    return lot.place != FREEZER and lot.use_by is not None and lot.use_by < on


def take(lots: Sequence[Lot], food: str, amount_mg: int, on: date) -> Taken:
    """Take an amount of a food: what ends first is taken first, fridge and cupboard before the freezer.

    >>> def lot(name, place, ends):
    ...     return Lot(name, "soup", place, 300_000, 300_000, date(2026, 11, 29), ends)
    >>> here = [lot("a", "freezer", date(2026, 12, 1)), lot("b", "fridge", date(2026, 12, 2))]
    >>> take(here, "soup", 400_000, date(2026, 11, 30))
    Taken(parts=(('b', 300000), ('a', 100000)), short_mg=0)
    >>> take(here, "soup", 700_000, date(2026, 11, 30)).short_mg
    100000
    """
    parts, missing = [], amount_mg
    for lot in in_order(lots, food, on):
        if missing == 0:
            break
        part = min(missing, lot.amount_mg)
        parts.append((lot.id, part))
        missing -= part
    return Taken(tuple(parts), missing)
