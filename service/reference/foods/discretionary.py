"""Which foods are sweets, desserts, sweet drinks or savoury snacks: reference_data/foods/discretionary.toml."""

from fractions import Fraction
from functools import lru_cache

from pydantic import Field

from service.reference.files import DataStatus, FileModel, data_path, read_toml

WHERE = "foods/discretionary.toml"


class OfLunchFoods(FileModel):
    """Lunch foods by category and id."""

    categories: list[str]
    foods: list[str]
    exceptions: list[str] = Field([], alias="except")


class OfGenericFoods(FileModel):
    """Generic foods by group, and by how their names begin."""

    groups: list[str] = Field(min_length=1)
    starts: list[str] = []
    without: list[str] = []


class DiscretionaryFile(FileModel):
    """The whole file."""

    source: str
    status: DataStatus
    dish_energy_percent: int = Field(gt=0, lt=100)
    lunch_foods: OfLunchFoods
    generic_foods: list[OfGenericFoods]


@lru_cache(maxsize=1)
def discretionary_file() -> DiscretionaryFile:
    """The file as it is; that its names are known is checked with all reference data."""
    return read_toml(data_path(WHERE), DiscretionaryFile)


def is_discretionary_lunch_food(food_id: str, category: str) -> bool:
    """Whether a lunch food is one.

    >>> is_discretionary_lunch_food("brownie", "sweet-snacks"), is_discretionary_lunch_food("almonds", "savoury-snacks")
    (True, False)
    """
    kinds = discretionary_file().lunch_foods
    return food_id in kinds.foods or (category in kinds.categories and food_id not in kinds.exceptions)


def is_discretionary_generic_food(group: str, name: str) -> bool:
    """Whether a generic food is one, by the group of its table and by its name.

    >>> is_discretionary_generic_food("Baked Products", "Cookies, oatmeal, soft-type")
    True
    """
    low = name.lower()
    return any(
        group in kind.groups
        and (not kind.starts or low.startswith(tuple(start.lower() for start in kind.starts)))
        and not any(word in low for word in kind.without)
        for kind in discretionary_file().generic_foods
    )


def share_that_makes_a_dish_one() -> Fraction:
    """A dish is discretionary where more than this share of its energy comes from discretionary foods."""
    return Fraction(discretionary_file().dish_energy_percent, 100)
