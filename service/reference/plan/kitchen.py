"""Kitchen measures, what turns brown, and the sizes of label sheets: reference_data/plan."""

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from pydantic import Field

from service.domain.errors import ReferenceFault
from service.domain.foods.food import Food
from service.domain.plan.kitchen_amounts import Kitchen, Measure
from service.reference.files import Noted, Sourced, data_path, read_toml
from service.reference.foods.catalogue import find_food

POURED = frozenset({"milk", "plant-drinks", "drinks", "soups"})
"""Categories of foods that are measured by volume."""
PARTS = {"half cup": Fraction(1, 2), "third cup": Fraction(1, 3), "quarter cup": Fraction(1, 4)}


class CupRow(Sourced):
    """The size of a cup."""

    millilitres: Decimal = Field(gt=0)


class OunceRow(Sourced):
    """The weight of an ounce."""

    grams: Decimal = Field(gt=0)


class VolumeRow(Sourced):
    """A cup or spoon, and the parts of it that one has."""

    id: str
    in_a_cup: Decimal = Field(gt=0)
    at_most: Decimal = Field(gt=0)
    steps: list[str] = Field(min_length=1)


class KitchenFile(Sourced):
    """The whole file."""

    tolerance_percent: Decimal = Field(gt=0, lt=50)
    cup: CupRow
    ounce: OunceRow
    volume: list[VolumeRow]


class SoakRow(Noted):
    """How long cut fruit lies in water with something against browning."""

    minutes: Decimal


class BrowningFile(Sourced):
    """The whole file."""

    foods: list[str]
    soak: SoakRow


@lru_cache(maxsize=1)
def kitchen() -> Kitchen:
    """The measures, the largest first."""
    file = read_toml(data_path("plan/kitchen_units.toml"), KitchenFile)
    cup_ul = Fraction(file.cup.millilitres) * 1000
    measures = [
        Measure(row.id, cup_ul / Fraction(row.in_a_cup), tuple(map(Fraction, row.steps)), Fraction(row.at_most))
        for row in file.volume
    ]
    measures.sort(key=lambda one: -one.size_ul)
    return Kitchen(tuple(measures), Fraction(file.ounce.grams) * 1000, Fraction(file.tolerance_percent) / 100)


def volume_of(food: Food) -> tuple[Fraction, str] | None:
    """Microlitres that a milligram of a food takes up, and how it is cut for that ("sliced"); None where no cup or spoon of it is known.

    >>> per_mg, cut = volume_of(find_food("apple"))
    >>> round(float(per_mg * 109_000 / 1000)), cut  # 109 g of slices fill a cup
    (237, 'slices')

    Of several measures without a cut the largest counts, whose weight is rounded least: a cup of sour cream is 230 g, a spoon of it 12 g.
    """
    sizes: Mapping[str, Fraction] = {one.id: one.size_ul for one in kitchen().measures}
    sizes = {**{name: part * sizes["cup"] for name, part in PARTS.items()}, **sizes}
    found: list[tuple[Fraction, Fraction, str]] = []
    for unit in food.units:
        for name, size in sizes.items():
            if unit.name == name or unit.name.startswith(f"{name} "):
                cut = unit.name[len(name) :].strip()
                found.append((size, size / unit.grams_mg, cut))
                break
    if not found:
        return None
    uncut = [one for one in found if not one[-1]]
    _size, per_mg, cut = max(uncut, key=lambda one: one[0]) if uncut else found[0]
    return per_mg, cut


def is_poured(food: Food) -> bool:
    """Whether a food is measured by volume in metric measures too."""
    return food.category in POURED and volume_of(food) is not None


@lru_cache(maxsize=1)
def browning() -> BrowningFile:
    """Which cut foods turn brown, and how long they lie in water against it."""
    file = read_toml(data_path("plan/browning_foods.toml"), BrowningFile)
    for one in file.foods:
        if find_food(one) is None:
            raise ReferenceFault(
                pointer="plan/browning_foods.toml#/foods", value=one, problem="is no food", remedy="Correct its id."
            )
    return file
