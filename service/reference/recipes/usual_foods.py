"""Foods that recipes name in a few words, and what their measures weigh: reference_data/recipes/usual_foods.toml."""

from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache
from typing import Annotated

from pydantic import Field

from service.domain.errors import ReferenceFault
from service.domain.foods.food import HouseholdUnit
from service.reference.files import FileModel, Sourced, data_path, read_toml
from service.reference.foods.catalogue import find_food
from service.reference.foods.search import fold, stems

WHERE = "recipes/usual_foods.toml"


class UsualFoodRow(FileModel):
    """One food: the words that mean it, and the grams of its measures."""

    words: list[str] = Field(min_length=1)
    food: str
    measures: dict[str, Annotated[Decimal, Field(gt=0)]] = Field(default_factory=dict)


class UsualFoodsFile(Sourced):
    """The whole file."""

    title: str
    food: list[UsualFoodRow]


@lru_cache(maxsize=1)
def usual_foods_file() -> UsualFoodsFile:
    """The whole file; ``ReferenceFault`` for a food that is not there."""
    file = read_toml(data_path(WHERE), UsualFoodsFile)
    for row in file.food:
        if find_food(row.food) is None:
            raise ReferenceFault(
                pointer=f"{WHERE}#/food", value=row.food, problem="is not a food", remedy="Correct its id."
            )
    return file


@lru_cache(maxsize=1)
def _by_words() -> Mapping[tuple[str, ...], str]:
    return {stems(fold(words)): row.food for row in usual_foods_file().food for words in row.words}


def usual_food(words: str) -> str | None:
    """The id of the food that exactly these words mean; None for others.

    >>> usual_food("Unsalted butter"), usual_food("almond butter")
    ('sr28-01145', None)
    """
    return _by_words().get(stems(fold(words)))


@lru_cache(maxsize=1)
def _measures() -> Mapping[str, tuple[HouseholdUnit, ...]]:
    file = usual_foods_file()
    said = f"{file.source} ({file.status})"
    return {
        row.food: tuple(HouseholdUnit(name, round(grams * 1000), said) for name, grams in row.measures.items())
        for row in file.food
    }


def more_measures(food_id: str) -> tuple[HouseholdUnit, ...]:
    """The measures of a food that the tables lack."""
    return _measures().get(food_id, ())
