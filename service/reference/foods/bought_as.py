"""Which foods are one food in the shop, raw or cooked, and which are free: reference_data/foods/bought_as.toml."""

from collections.abc import Mapping
from fractions import Fraction
from functools import lru_cache

from service.domain.errors import LunchError, ReferenceFault, raise_all
from service.domain.measures import ENERGY
from service.reference.files import Sourced, data_path, read_toml
from service.reference.foods.catalogue import find_food

WHERE = "foods/bought_as.toml"
RAW_OR_DRY = ("-raw", "-dry")
"""How the ids of lunch foods end that are bought as they are named."""


class BoughtAsFile(Sourced):
    """The whole file."""

    free: list[str]
    same: list[list[str]]
    names: dict[str, str]


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


def raw_forms(food_id: str) -> tuple[tuple[str, Fraction], ...]:
    """What a food is made of that is bought raw or dry, each with how much of it one gram of this food is.

    >>> [food for food, _factor in raw_forms("carrots-cooked")], raw_forms("apple")
    (['sr28-11124', 'carrots-raw'], ())
    """
    alike = bought_as().get(food_id, ())
    return tuple(one for one in alike if one[0].startswith("sr28-") or one[0].endswith(RAW_OR_DRY))


@lru_cache(maxsize=1)
def kitchen_names() -> Mapping[str, str]:
    """Food id of a composition table -> what it is called in a kitchen, for the first food of each list.

    That is the name of the raw or dry lunch food in its list, or else the name given for it. Raises ``ReferenceFault`` for one
    that has no name, or a name that nothing needs.

    >>> kitchen_names()["sr28-11124"], kitchen_names()["sr28-20044"]
    ('carrot, raw', 'white rice, dry')
    """
    faults: list[LunchError] = []
    found: dict[str, str] = {}
    given = _file().names
    for place, (first, *others) in enumerate(_file().same):
        raw = next((food for one in others if one.endswith(RAW_OR_DRY) and (food := find_food(one))), None)
        if (raw is None) != (first in given):
            problem = "has no name" if raw is None else f"has a name, but is called as {raw.id}"
            remedy = "Give it one under names." if raw is None else "Remove it from names."
            faults.append(ReferenceFault(pointer=f"{WHERE}#/same/{place}", value=first, problem=problem, remedy=remedy))
        else:
            found[first] = given[first] if raw is None else raw.name
    faults += [
        ReferenceFault(
            pointer=f"{WHERE}#/names", value=one, problem="is not the first food of a list", remedy="Remove it."
        )
        for one in given
        if one not in {first for first, *_others in _file().same}
    ]
    raise_all(faults)
    return found


def _energy(food_id: str) -> Fraction:
    """Energy for a milligram; 0 where it is not known."""
    food = find_food(food_id)
    value = None if food is None else food.nutrients[ENERGY]
    return Fraction(0) if food is None or value is None else Fraction(value) / food.basis_mg
