"""The file of what a suggested change may bring in: reference_data/foods/suggesting.toml."""

from collections.abc import Container, Iterable
from functools import lru_cache

from pydantic import Field

from service.domain.errors import LunchError, ReferenceFault, raise_all
from service.domain.lunch.changing.suggesting import Part, Points, Suggesting
from service.domain.measures import THOUSANDTHS
from service.reference.files import FileModel, data_path, read_toml
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.foods.recipes import recipes

WHERE = "foods/suggesting.toml"
RECIPE = "recipe"
"""The category of every dish of recipes.toml."""


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


class PartOfLunch(OneOf):
    """Foods that stand in for one another. ``or_else``: what takes their place where nothing of ``instead`` may come in.

    Left out: ``covers`` and ``instead`` are the part itself, ``instead_of_sweets`` is ``instead``. ``also_instead``: what
    takes their place besides foods of their category where they may be packed; ``any_of_it``: whether any food of the part
    takes the place of one over a limit for such products.
    """

    covers: list[str] | None = None
    instead: list[str] | None = None
    or_else: list[str] = []
    instead_of_sweets: list[str] | None = None
    also_instead: list[str] = []
    any_of_it: bool = False
    missing_points: float = 0.0
    sweets_points: float = 0.0

    def part(self) -> Part:
        """As the domain has it."""
        instead = frozenset(self.instead or [self.id])
        return Part(
            id=self.id,
            covers=frozenset([self.id] if self.covers is None else self.covers),
            instead=(instead, frozenset(self.or_else)),
            instead_of_sweets=frozenset(self.instead_of_sweets or instead),
            also_instead=frozenset(self.also_instead),
            any_of_it=self.any_of_it,
            missing_points=self.missing_points,
            sweets_points=self.sweets_points,
        )


class PointsFile(FileModel):
    """By how many points of the score a change comes before or behind others."""

    seldom: float
    another_food: float
    another_dish: float
    under_a_spread: float


class Units(FileModel):
    """Names of household units; a unit of several words is measured where one of them is."""

    measured: list[str]
    halved: list[str]
    one_at_a_time: list[str]
    more_for_older: list[str]


class SuggestingFile(FileModel):
    """The whole file."""

    source: str
    status: str
    small_child_below_months: int
    most_counted_grams: int
    more_from_months: int
    seldom_days: int
    not_for_everybody: list[str]
    forms_not_made: list[str]
    only_instead: list[str]
    points: PointsFile
    one_of: list[OneOf]
    part: list[PartOfLunch]
    spread_on: Kind
    no_dish_beside: Kind
    seldom: Kind
    units: Units


@lru_cache(maxsize=1)
def suggesting() -> Suggesting:
    """The lists, with every name in them known; ``ReferenceFault`` otherwise."""
    file = read_toml(data_path(WHERE), SuggestingFile)
    categories = {food: row["category"] for food, row in lunch_foods().rows().items()}
    categories |= dict.fromkeys(recipes(), RECIPE)
    named: list[tuple[str, Kind]] = [
        ("spread_on", file.spread_on),
        ("no_dish_beside", file.no_dish_beside),
        ("seldom", file.seldom),
    ]
    named += [(f"one_of/{one.id}", one) for one in file.one_of]
    named += [(f"part/{one.id}", one) for one in file.part]
    faults: list[LunchError] = []
    for place, kind in named:
        faults += _unknown(f"{place}/categories", kind.categories, set(categories.values()), "category of lunch foods")
        faults += _unknown(f"{place}/foods", [*kind.foods, *kind.exceptions], categories, "lunch food")
    faults += _unknown("only_instead", file.only_instead, categories, "lunch food")
    ids = {one.id for one in file.part}
    for row in file.part:
        others = [
            *(row.covers or ()),
            *(row.instead or ()),
            *row.or_else,
            *(row.instead_of_sweets or ()),
            *row.also_instead,
        ]
        faults += _unknown(f"part/{row.id}", others, ids, "part of a lunch")
    raise_all(faults)
    parts: dict[str, Part] = {}
    for row in file.part:
        parts = dict.fromkeys(row.of(categories), row.part()) | parts
    kinds: dict[str, frozenset[str]] = {}
    for one in file.one_of:
        for food in one.of(categories):
            kinds[food] = kinds.get(food, frozenset()) | {one.id}
    return Suggesting(
        kinds=kinds,
        of_recipes=frozenset(one.id for one in file.one_of if one.recipes),
        parts=parts,
        part_of_recipes=next(one.part() for one in file.part if one.recipes),
        no_dish_beside=file.no_dish_beside.of(categories),
        seldom=file.seldom.of(categories),
        only_instead=frozenset(file.only_instead),
        points=Points(**file.points.model_dump()),
        spread_on=file.spread_on.of(categories),
        measured=frozenset(file.units.measured),
        halved=frozenset(file.units.halved),
        one_at_a_time=frozenset(file.units.one_at_a_time),
        more_for_older=frozenset(file.units.more_for_older),
        more_from_months=file.more_from_months,
        seldom_days=file.seldom_days,
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
