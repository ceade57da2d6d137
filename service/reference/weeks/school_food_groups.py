"""What each lunch food counts as in a week: its school food groups, its kind, and grams of one portion."""

from collections.abc import Container, Mapping
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from service.domain.errors import LunchError, ReferenceFault, raise_all
from service.domain.measures import THOUSANDTHS
from service.reference.files import data_path, read_toml
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.foods.recipes import recipe_parts
from service.reference.weeks.models import FoodGroupFile, PortionRow

WHERE = "foods/school_food_groups.toml"
PRIMARY = "primary"
MEAT = frozenset({"meat_or_poultry", "meat_product", "oily_fish"})


class FoodInGroups(NamedTuple):
    """The groups of a food (an empty set: it counts as nothing) and the kind it is."""

    groups: frozenset[str]
    kind: str


@lru_cache(maxsize=1)
def group_file() -> FoodGroupFile:
    """The file, with every name in it known; ``ReferenceFault`` otherwise."""
    file = read_toml(data_path(WHERE), FoodGroupFile)
    foods = lunch_foods().rows()
    categories = {row["category"] for row in foods.values()}
    faults: list[LunchError] = []

    def check(place: str, names: list[str], known: Container[str], what: str) -> None:
        faults.extend(
            ReferenceFault(
                pointer=f"{WHERE}#/{place}", value=name, problem=f"is not a {what}", remedy="Correct its name."
            )
            for name in names
            if name not in known
        )

    check("counts_as_nothing", file.counts_as_nothing, foods, "lunch food")
    check("not_vegetarian", file.not_vegetarian, foods, "lunch food")
    for group in file.group:
        check(f"group/{group.id}/categories", group.categories, categories, "category of lunch foods")
        check(f"group/{group.id}/foods", [*group.foods, *group.exceptions], foods, "lunch food")
    ids = {group.id for group in file.group}
    for group in file.group:
        check(f"group/{group.id}/of", group.of, ids, "group of this file")
    for place, row in enumerate(file.portion):
        check(f"portion/{place}/group", [row.group], ids, "group of this file")
        check(f"portion/{place}/foods", row.foods, foods, "lunch food")
        check(f"portion/{place}/categories", row.categories, categories, "category of lunch foods")
    check("density", [row.group for row in file.density], ids, "group of this file")
    for kind, names in file.kinds.items():
        check(f"kinds/{kind}", names, foods, "lunch food")
    raise_all(faults)
    return file


@lru_cache(maxsize=1)
def group_labels() -> Mapping[str, str]:
    """Group id -> what it is called."""
    return {group.id: group.label for group in group_file().group}


@lru_cache(maxsize=1)
def foods_in_groups() -> Mapping[str, FoodInGroups]:
    """Lunch food id -> its groups and kind; a food that the file does not place is left out: unknown."""
    file = group_file()
    kinds = {food: kind for kind, foods in file.kinds.items() for food in foods}
    placed: dict[str, set[str]] = {food: set() for food in file.counts_as_nothing}
    for group in file.group:
        listed = set(group.foods)
        for food_id, row in lunch_foods().rows().items():
            if (food_id in listed or row["category"] in group.categories) and food_id not in group.exceptions:
                placed.setdefault(food_id, set()).add(group.id)

    placed = {food: set(with_wider(frozenset(groups))) for food, groups in placed.items()}

    def kind(food: str) -> str:
        named = kinds.get(food, food if food in file.kinds else "")
        return named.replace("-", " ") or lunch_foods().rows()[food]["name"]

    return {food: FoodInGroups(frozenset(groups), kind(food)) for food, groups in placed.items()}


@lru_cache(maxsize=1)
def not_vegetarian() -> frozenset[str]:
    """Ids of the lunch foods with meat, fish or gelatin, and of the dishes that hold one."""
    fish = {food_id for food_id, row in lunch_foods().rows().items() if row["category"] == "fish"}
    meat = {food_id for food_id, placed in foods_in_groups().items() if placed.groups & MEAT}
    foods = fish | meat | set(group_file().not_vegetarian)
    return frozenset(
        foods | {dish for dish, parts in recipe_parts().items() if any(part in foods for part, _mg in parts)}
    )


def with_wider(groups: frozenset[str]) -> frozenset[str]:
    """The groups, and those that hold all foods of one of them."""
    return groups | {group.id for group in group_file().group if groups & set(group.of)}


class Portion(NamedTuple):
    """Milligrams of one portion (None: one item is one portion), and how well that is founded."""

    amount_mg: Fraction | None
    source: str
    status: str


@lru_cache(maxsize=4096)
def portion_of(food_id: str, category: str, group: str, age_group: str) -> Portion:
    """One portion of a food in a group for an age group."""
    for row in group_file().portion:
        if row.group == group and _speaks_of(row, food_id, category):
            grams = row.primary if age_group == PRIMARY else row.secondary
            return Portion(None if grams is None else Fraction(grams) * 1000, row.source, row.status)
    return Portion(None, "common practice, no source", "estimated")


def _speaks_of(row: PortionRow, food_id: str, category: str) -> bool:
    if not (row.foods or row.categories):
        return True
    return food_id in row.foods or category in row.categories


def portions_in(food_id: str, category: str, group: str, age_group: str, amount_mg: int) -> int:
    """Thousandths of a portion in so much of a food; one item is one portion where no weight is given."""
    portion = portion_of(food_id, category, group, age_group)
    if portion.amount_mg is None:
        return THOUSANDTHS
    return int(Fraction(amount_mg * THOUSANDTHS) / portion.amount_mg)


@lru_cache(maxsize=1)
def _densities() -> Mapping[str, Fraction]:
    return {row.group: Fraction(row.grams_per_ml) for row in group_file().density}


def microlitres_of(groups: frozenset[str], amount_mg: int) -> int:
    """How much a drink of some groups measures; by weight (a little too much) where no density is known."""
    density = min((_densities()[group] for group in groups if group in _densities()), default=Fraction(1))
    return int(amount_mg / density)
