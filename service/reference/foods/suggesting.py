"""The file of what a suggested change may bring in: reference_data/foods/suggesting.toml."""

from collections.abc import Container, Iterable
from functools import lru_cache

from pydantic import Field

from service.domain.errors import LunchError, ReferenceFault, raise_all
from service.domain.lunch.suggesting import Suggesting
from service.domain.measures import THOUSANDTHS
from service.reference.files import FileModel, data_path, read_toml
from service.reference.foods.lunch_foods import lunch_foods

WHERE = "foods/suggesting.toml"


class Kind(FileModel):
    """Foods by category and id."""

    categories: list[str] = []
    foods: list[str] = []
    exceptions: list[str] = Field([], alias="except")

    def of(self, categories: dict[str, str]) -> frozenset[str]:
        """The ids of its foods; ``categories``: of each lunch food."""
        listed = {food for food, category in categories.items() if category in self.categories}
        return frozenset(listed | set(self.foods)) - set(self.exceptions)


class OneOf(Kind):
    """A kind of which a lunch has one; ``recipes``: whether every dish is of it."""

    id: str
    recipes: bool = False


class Units(FileModel):
    """Names of household units; a unit of several words is measured where one of them is."""

    measured: list[str]
    halved: list[str]
    one_at_a_time: list[str]


class SuggestingFile(FileModel):
    """The whole file."""

    source: str
    status: str
    small_child_below_months: int
    most_counted_grams: int
    not_for_everybody: list[str]
    forms_not_made: list[str]
    one_of: list[OneOf]
    spread_on: Kind
    units: Units


@lru_cache(maxsize=1)
def suggesting() -> Suggesting:
    """The lists, with every name in them known; ``ReferenceFault`` otherwise."""
    file = read_toml(data_path(WHERE), SuggestingFile)
    categories = {food: row["category"] for food, row in lunch_foods().rows().items()}
    named: list[tuple[str, Kind]] = [("spread_on", file.spread_on)]
    named += [(f"one_of/{one.id}", one) for one in file.one_of]
    faults: list[LunchError] = []
    for place, kind in named:
        faults += _unknown(f"{place}/categories", kind.categories, set(categories.values()), "category of lunch foods")
        faults += _unknown(f"{place}/foods", [*kind.foods, *kind.exceptions], categories, "lunch food")
    raise_all(faults)
    kinds: dict[str, frozenset[str]] = {}
    for one in file.one_of:
        for food in one.of(categories):
            kinds[food] = kinds.get(food, frozenset()) | {one.id}
    return Suggesting(
        kinds=kinds,
        of_recipes=frozenset(one.id for one in file.one_of if one.recipes),
        spread_on=file.spread_on.of(categories),
        measured=frozenset(file.units.measured),
        halved=frozenset(file.units.halved),
        one_at_a_time=frozenset(file.units.one_at_a_time),
        not_for_everybody=frozenset(file.not_for_everybody),
        forms_not_made=frozenset(file.forms_not_made),
        most_counted_mg=file.most_counted_grams * THOUSANDTHS,
        small_child_below_months=file.small_child_below_months,
    )


def _unknown(place: str, names: Iterable[str], known: Container[str], what: str) -> list[LunchError]:
    return [
        ReferenceFault(pointer=f"{WHERE}#/{place}", value=name, problem=f"is not a {what}", remedy="Correct its name.")
        for name in names
        if name not in known
    ]
