"""The file of what a new household finds ticked when it first says what it sets out: reference_data/foods/first_offer.toml."""

from functools import lru_cache

from pydantic import Field

from service.domain.errors import LunchError, ReferenceFault, raise_all
from service.reference.files import FileModel, data_path, read_toml
from service.reference.foods.catalogue import find_food

WHERE = "foods/first_offer.toml"


class FirstFood(FileModel):
    """A food in the portion with which an offer begins. ``unit``: None for its usual one."""

    food: str
    quantity: float = Field(1.0, gt=0)
    unit: str | None = None
    ticked: bool = False


class FirstGroup(FileModel):
    """A group of foods; its name in words is on the page."""

    id: str
    foods: list[FirstFood] = Field(min_length=1)


class FirstCountry(FileModel):
    """The groups of a country (ISO 3166)."""

    id: str
    group: list[FirstGroup] = Field(min_length=1)


class FirstOfferFile(FileModel):
    """The whole file."""

    source: str
    status: str
    country: list[FirstCountry]


@lru_cache(maxsize=1)
def first_offers() -> dict[str, list[FirstGroup]]:
    """The groups by country; ``ReferenceFault`` for a food or a unit that is not known."""
    file = read_toml(data_path(WHERE), FirstOfferFile)
    faults: list[LunchError] = []
    for country in file.country:
        for group in country.group:
            for one in group.foods:
                food = find_food(one.food)
                units = [] if food is None else [unit.name for unit in food.units]
                if food is None or (one.unit not in (None, "g") and one.unit not in units):
                    place, value = f"{WHERE}#/{country.id}/{group.id}", f"{one.food} {one.unit or ''}".strip()
                    problem = "is not a lunch food in a unit it has"
                    faults.append(ReferenceFault(pointer=place, value=value, problem=problem, remedy="Correct it."))
    raise_all(faults)
    return {country.id: country.group for country in file.country}
