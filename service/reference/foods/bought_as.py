"""Which foods are one food in the shop, raw or cooked, and which are free: reference_data/foods/bought_as.toml."""

from collections.abc import Mapping
from fractions import Fraction
from functools import lru_cache

from service.domain.errors import LunchError, ReferenceFault, raise_all
from service.domain.measures import ENERGY
from service.reference.files import Sourced, data_path, read_toml
from service.reference.foods.catalogue import find_food

WHERE = "foods/bought_as.toml"


class BoughtAsFile(Sourced):
    """The whole file."""

    free: list[str]
    same: list[list[str]]


@lru_cache(maxsize=1)
def _file() -> BoughtAsFile:
    return read_toml(data_path(WHERE), BoughtAsFile)


def is_free(food_id: str) -> bool:
    """Whether a food costs nothing: water from the tap."""
    return food_id in _file().free


@lru_cache(maxsize=1)
def bought_as() -> Mapping[str, tuple[tuple[str, Fraction], ...]]:
    """Food id -> the other foods whose price serves for it, each with how much of it one gram of this food is.

    Raises ``ReferenceFault`` for a food that is not there, has no energy, or appears twice.

    >>> dry, of_dry = bought_as()["rice-white-cooked"][0]
    >>> dry, round(float(of_dry), 2)  # 100 g of cooked rice come of 36 g of dry
    ('sr28-20044', 0.36)
    """
    faults: list[LunchError] = []
    found: dict[str, tuple[tuple[str, Fraction], ...]] = {}
    for place, group in enumerate(_file().same):
        energy = {food_id: _energy(food_id) for food_id in group}
        for food_id, value in energy.items():
            if not value or food_id in found:
                problem = "appears twice" if food_id in found else "is not a food with energy"
                faults.append(
                    ReferenceFault(
                        pointer=f"{WHERE}#/same/{place}", value=food_id, problem=problem, remedy="Correct its id."
                    )
                )
        found |= {
            food_id: tuple((other, value / energy[other]) for other in group if other != food_id and energy[other])
            for food_id, value in energy.items()
        }
    raise_all(faults)
    return found


def _energy(food_id: str) -> Fraction:
    """Energy for a milligram; 0 where it is not known."""
    food = find_food(food_id)
    value = None if food is None else food.nutrients[ENERGY]
    return Fraction(0) if food is None or value is None else Fraction(value) / food.basis_mg
