"""What the build of the generic food table works on: one food as its source gives it, and the faults.

Values are whole thousandths of the unit in the measure's name, per 100 g; a missing value is absent
from the mapping and never zero. Nothing here reads or writes a file.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation

from service.domain.measures import TABLE_MEASURES

SCALE = 1000
SR28 = "USDA SR28"
FNDDS = "USDA FNDDS 2021-2023"

MEASURES: tuple[str, ...] = tuple(measure.id for measure in TABLE_MEASURES)
"""The order of a row of values in the shipped file."""


class BuildError(Exception):
    """The sources are not what they should be; nothing is written. Says what, where and what to do."""


@dataclass(frozen=True, slots=True)
class Portion:
    """One household measure as printed: amount (exact decimal text), words, weight in milligrams."""

    sequence: str
    amount: str
    words: str
    grams_mg: int


@dataclass(frozen=True, slots=True)
class EnergyFactors:
    """Specific energy factors of a food, kcal per gram of protein, fat and carbohydrate."""

    protein: Decimal
    fat: Decimal
    carbohydrate: Decimal


@dataclass(frozen=True, slots=True)
class SourceFood:
    """One food of a source, before any choice is made.

    ``values``: measure -> thousandths. ``ash`` and ``alcohol``: grams in thousandths, for the checks
    only. ``group_code``: the source's own code of its group, empty where it has none.
    """

    id: str
    name: str
    edition: str
    group: str
    values: Mapping[str, int]
    group_code: str = ""
    manufacturer: str = ""
    ash: int | None = None
    alcohol: int | None = None
    factors: EnergyFactors | None = None
    portions: tuple[Portion, ...] = field(default=())


def thousandths(text: str, where: str) -> int:
    """Read a printed decimal as whole thousandths, exactly.

    Raises ``BuildError`` for a text that is not a number, is negative, or is finer than a thousandth.
    """
    try:
        number = Decimal(text)
    except InvalidOperation as fault:
        raise BuildError(f"{where}: {text!r} is not a number. Compare with the source archive.") from fault
    if not number.is_finite():
        raise BuildError(f"{where}: {text!r} is not a finite number. Compare with the source archive.")
    if number < 0:
        raise BuildError(f"{where}: {text!r} is negative. A composition value cannot be below zero.")
    scaled = number * SCALE
    if scaled != scaled.to_integral_value():
        raise BuildError(f"{where}: {text!r} is finer than a thousandth. Widen the scale before building.")
    return int(scaled)


def one_space(text: str) -> str:
    """The text with every run of white space turned into one space and none at the ends."""
    return " ".join(text.split())
