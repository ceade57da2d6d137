"""A branded food as a public database gives it: each value with its source, date and basis, and what is doubtful of it.

The packet in hand may be of another recipe than the one in the database. So such a food clears no allergen, and what is
missing stays unknown.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal, NamedTuple

from service.domain.foods.impossible import ENERGY, MACROS, SODIUM, parts_over_wholes
from service.domain.measures import MEASURE_INDEX, MEASURES
from service.domain.messages import Message, message

Basis = Literal["100 g", "100 ml"]
ServingUnit = Literal["g", "ml"]
Source = Literal["index", "live"]

NOT_GIVEN = frozenset({"n/a", "na", "none", "null", "not available", "-"})
"""What stands in the place of a list of ingredients where there is none."""


NO_BASIS = message("branded-note.no-basis")
"""Why the values of an entry are left out that does not say whether they are for 100 g or 100 ml."""


class Limits(NamedTuple):
    """From when on something is doubtful; ours, in reference_data/foods/fdc_nutrients.toml.

    ``most_macros``: protein, fat and carbohydrate together, in g of 100 g or 100 ml. ``most_kcal``: energy of as much.
    ``energy_off_percent``: how far the energy may be off what its macros give, and by more than ``energy_off_kcal``.
    ``shortest_ingredients``: letters that a list of ingredients has at the least. ``part_over_whole``: by how many g a part may be
    more than its whole, since both are rounded. ``most_sodium_mg``: in 100 g or 100 ml, more than pure salt.
    """

    most_macros: float
    most_kcal: float
    energy_off_percent: float
    energy_off_kcal: float
    shortest_ingredients: int
    part_over_whole: float
    most_sodium_mg: float


@dataclass(frozen=True, slots=True)
class BrandedValue:
    """One value of a branded food for 100 g or 100 ml of it; it is never turned from one into the other.

    ``nutrient``: id of a measure (``energy_kcal``). ``amount``: in ``unit``, None is unknown and never nil. ``fdc_id``,
    ``date``: the version of the entry that it comes from, and when that was last changed. ``implausible``: doubtful, see the notes of the food.
    """

    nutrient: str
    amount: float | None
    unit: str
    basis: Basis
    fdc_id: int
    date: date | None
    implausible: bool = False


@dataclass(frozen=True, slots=True)
class BrandedFood:
    """The newest version of the entry of one code.

    ``gtin``: 14 digits. ``serving_amount``: in ``serving_unit``; ``household_serving``: as printed ("2 cookies").
    ``ingredients``: None where no list was given that can be read. ``modified``, ``available``, ``published``: when the
    maker changed it, offered it, and when the database took it in. ``discontinued``: no longer made since.
    ``values_fdc_id``: the version the values come from; it is another than ``fdc_id`` where the newest has none; None: no version has any.
    ``source``: the index on this machine, or the network. ``read``: the date of the release, or the day it was read.
    ``notes``: what is doubtful or missing.
    """

    gtin: str
    fdc_id: int
    description: str
    brand_owner: str = ""
    brand_name: str = ""
    category: str = ""
    serving_amount: float | None = None
    serving_unit: ServingUnit | None = None
    household_serving: str = ""
    ingredients: str | None = None
    modified: date | None = None
    available: date | None = None
    published: date | None = None
    market: str = ""
    discontinued: date | None = None
    values: tuple[BrandedValue, ...] = ()
    values_fdc_id: int | None = None
    source: Source = "index"
    read: date | None = None
    notes: tuple[Message, ...] = ()

    @property
    def date(self) -> date | None:
        """When this version was last changed: modified, else available, else published."""
        return self.modified or self.available or self.published

    def value(self, nutrient: str) -> BrandedValue | None:
        """The value of one nutrient, or None where the source does not speak of it."""
        return next((one for one in self.values if one.nutrient == nutrient), None)


def readable_ingredients(text: str | None, shortest: int) -> str | None:
    """A list of ingredients, or None where there is none: missing, "N/A", or shorter than one can be.

    >>> readable_ingredients(" N/A ", 12), readable_ingredients("SALT", 12), readable_ingredients("OATS, HONEY, SALT.", 12)
    (None, None, 'OATS, HONEY, SALT.')
    """
    given = (text or "").strip()
    return None if given.casefold() in NOT_GIVEN or len(given) < shortest else given


def judged(food: BrandedFood, limits: Limits) -> BrandedFood:
    """The food with what is doubtful flagged and said: its list of ingredients, values, versions and dates.

    ``food``: as its source gives it, with the ingredients as printed, and notes of what was already found.
    """
    ingredients = readable_ingredients(food.ingredients, limits.shortest_ingredients)
    found = list(food.notes)
    if ingredients is None:
        found.append(message("branded-note.no-ingredients"))
    if food.discontinued is not None:
        found.append(message("branded-note.discontinued", on=food.discontinued.isoformat()))
    if all(one.amount is None for one in food.values):
        if NO_BASIS not in found:
            found.append(message("branded-note.no-values"))
    elif food.values_fdc_id not in (None, food.fdc_id):
        found.append(_of_other_version(food.values[0]))
    flagged, doubts = implausible(food.values, limits)
    values = tuple(replace(one, implausible=one.nutrient in flagged) for one in food.values)
    return replace(food, ingredients=ingredients, values=values, notes=(*found, *doubts, _compare(food)))


def _compare(food: BrandedFood) -> Message:
    if food.date is None:
        return message("branded-note.compare-undated")
    return message("branded-note.compare", on=food.date.isoformat())


def _of_other_version(value: BrandedValue) -> Message:
    if value.date is None:
        return message("branded-note.values-of-undated-version", fdc_id=str(value.fdc_id))
    return message("branded-note.values-of-other-version", fdc_id=str(value.fdc_id), on=value.date.isoformat())


def implausible(values: Iterable[BrandedValue], limits: Limits) -> tuple[frozenset[str], list[Message]]:
    """The nutrients whose values cannot well be right, and why.

    Source: ours. Energy is compared only where it and all three macros are known.
    """
    known: Mapping[str, float] = {one.nutrient: one.amount for one in values if one.amount is not None}
    bases = [one.basis for one in values]
    flagged: set[str] = set()
    found: list[Message] = []
    if negative := sorted(nutrient for nutrient, amount in known.items() if amount < 0):
        flagged.update(negative)
        labels = [MEASURES[MEASURE_INDEX[nutrient]].label for nutrient in negative]
        found.append(message("branded-note.below-nil", nutrients=labels))
    macros = {nutrient: known[nutrient] for nutrient in MACROS if nutrient in known}
    together = sum(macros.values())
    if together > limits.most_macros:
        flagged.update(macros)
        found.append(message("branded-note.macros", grams=round(together, 1), basis=bases[0]))
    for part, whole in parts_over_wholes(known, limits.part_over_whole):
        flagged.update((part, whole))
        labels = [MEASURES[MEASURE_INDEX[one]].label for one in (part, whole)]
        found.append(message("branded-note.part-over-whole", part=labels[0], whole=labels[1]))
    if known.get(SODIUM, 0) > limits.most_sodium_mg:
        flagged.add(SODIUM)
        found.append(message("branded-note.more-than-salt", mg=round(known[SODIUM]), basis=bases[0]))
    energy = known.get(ENERGY)
    if energy is None:
        return frozenset(flagged), found
    if energy > limits.most_kcal:
        flagged.add(ENERGY)
        found.append(message("branded-note.energy", kcal=round(energy), basis=bases[0]))
    if len(macros) == len(MACROS):
        expected = sum(MACROS[nutrient] * grams for nutrient, grams in macros.items())
        off = abs(energy - expected)
        if off > limits.energy_off_kcal and off > expected * limits.energy_off_percent / 100:
            flagged.add(ENERGY)
            found.append(message("branded-note.energy-off", kcal=round(energy), expected=round(expected)))
    return frozenset(flagged), found
