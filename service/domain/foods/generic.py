"""A generic food out of a public composition table: values per 100 g and its household measures.

This is the table's own form; a job turns it into a ``Food`` before it is checked. Every food knows the
edition it comes from, since values of two editions are not made alike and should not meet in one recipe
without its reader being asked.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from service.domain.measures import MEASURE_INDEX, THOUSANDTHS

BASIS_MG = 100_000
"""Values are for 100 g of the food as it is described."""


class HouseholdMeasure(NamedTuple):
    """So much of a food in kitchen words, as the table prints it, and what it weighs.

    ``amount``: the printed number, exactly (``0.333`` is 333/1000, not a third). ``grams_mg``: weight of
    the whole amount in milligrams.
    """

    amount: Fraction
    words: str
    grams_mg: int

    def amount_text(self) -> str:
        """The amount as a decimal number, as printed: ``1``, ``0.5``."""
        thousandths = self.amount * THOUSANDTHS
        whole, rest = divmod(thousandths.numerator // thousandths.denominator, THOUSANDTHS)
        return f"{whole}.{rest:03d}".rstrip("0") if rest else str(whole)

    def text(self) -> str:
        """The measure as a unit of its own: ``cup, cubes``, ``0.5 cup``; one of it goes without saying."""
        return self.words if self.amount == 1 else f"{self.amount_text()} {self.words}"


@dataclass(frozen=True, slots=True)
class GenericFood:
    """One food of a composition table.

    ``values``: one entry per nutrient, in the engine's order, whole thousandths per 100 g; ``None`` is not known
    or not in the table, 0 is a printed zero. ``group``: the table's own group or category.
    """

    id: str
    name: str
    edition: str
    group: str
    values: tuple[int | None, ...]
    household_measures: tuple[HouseholdMeasure, ...] = ()

    def value(self, measure: str) -> int | None:
        """Thousandths per 100 g of a nutrient by its id; ``None`` if not known or not in such tables."""
        return self.values[MEASURE_INDEX[measure]]
