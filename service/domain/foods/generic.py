"""A generic food out of a public composition table: values per 100 g and its household measures.

This is the table's own form; a job turns it into a ``Food`` before it is checked. Every food knows the
edition it comes from, since values of two editions are not made alike and should not meet in one recipe
without its reader being asked.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from service.domain.measures import NUTRIENT_IDS, SCALE

EDITION_SR28 = "USDA SR28"
EDITION_FNDDS = "USDA FNDDS 2021-2023"

BASIS_MG = 100_000
"""Values are for 100 g of the food as it is described."""

GENERIC_MEASURES: tuple[str, ...] = (
    "energy_kcal",
    "protein_g",
    "fat_g",
    "saturated_fat_g",
    "carbohydrate_g",
    "sugars_g",
    "fibre_g",
    "sodium_mg",
    "calcium_mg",
    "iron_mg",
    "magnesium_mg",
    "phosphorus_mg",
    "potassium_mg",
    "zinc_mg",
    "vitamin_a_rae_ug",
    "vitamin_c_mg",
    "vitamin_d_ug",
    "thiamin_mg",
    "riboflavin_mg",
    "niacin_mg",
    "vitamin_b12_ug",
    "folate_ug",
    "cholesterol_mg",
    "water_g",
)
"""The measures a composition table gives, in the order of ``GenericFood.values``.

Added, free and non-milk extrinsic sugars are in no composition table, nor is the fat of fluid milk.
"""

_PLACE = {measure: index for index, measure in enumerate(GENERIC_MEASURES)}


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
        thousandths = self.amount * SCALE
        whole, rest = divmod(thousandths.numerator // thousandths.denominator, SCALE)
        return f"{whole}.{rest:03d}".rstrip("0") if rest else str(whole)

    def text(self) -> str:
        """The measure as a unit of its own: ``cup, cubes``, ``0.5 cup``; one of it goes without saying."""
        return self.words if self.amount == 1 else f"{self.amount_text()} {self.words}"


@dataclass(frozen=True, slots=True)
class GenericFood:
    """One food of a composition table.

    ``values``: one entry per measure of ``GENERIC_MEASURES``, whole thousandths per 100 g; ``None`` is
    not known, 0 is a printed zero. ``group``: the table's own group or category.
    """

    id: str
    name: str
    edition: str
    group: str
    values: tuple[int | None, ...]
    household_measures: tuple[HouseholdMeasure, ...] = ()

    def value(self, measure: str) -> int | None:
        """Thousandths per 100 g of a measure by its id; ``None`` if not known or not in such tables."""
        place = _PLACE.get(measure)
        return None if place is None else self.values[place]

    def nutrients(self) -> tuple[int | None, ...]:
        """The values in the engine's order of nutrients, ``None`` where the table has none."""
        return tuple(self.value(measure) for measure in NUTRIENT_IDS)
