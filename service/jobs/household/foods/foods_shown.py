"""Foods of stored lunches as pages and lists name them: the name, and the units that an amount can be given in."""

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from pydantic import ConfigDict, TypeAdapter

from service.domain.errors import LunchError
from service.jobs.foods.resolve import food_of
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.requests.fields import is_kept_id
from service.jobs.requests.foods import AnyFood
from service.store.household.records import Connection

_FOOD: TypeAdapter[Any] = TypeAdapter(AnyFood, config=ConfigDict(defer_build=True))


def names_and_units(
    connection: Connection, household: UUID, foods: Sequence[str | Mapping[str, Any]]
) -> list[tuple[str, list[str]]]:
    """The name and the household units of each food: an id, an own food's id, or a food in full as a lunch keeps it.

    One that is no longer known has its id as its name, and no units.
    """
    kept = KeptThings(connection, household)
    return [_one(kept, food) for food in foods]


def _one(kept: KeptThings, food: str | Mapping[str, Any]) -> tuple[str, list[str]]:
    try:
        if isinstance(food, str):
            found = food_of(kept.food(food, "/food") if is_kept_id(food) else food)
        else:
            found = food_of(_FOOD.validate_python(food, strict=False))
    except LunchError:
        return (food if isinstance(food, str) else str(food["name"])), []
    return found.name, [unit.name for unit in found.units]
