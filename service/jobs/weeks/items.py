"""What the items of a day count as: groups, kind and portions; dishes count by their ingredients."""

from collections.abc import Iterator, Sequence
from functools import lru_cache

from service.domain.foods.food import Food
from service.domain.measures import THOUSANDTHS
from service.domain.weeks.frequency import CountedItem
from service.jobs.lunch.items import PreparedItem
from service.jobs.requests.foods import Recipe
from service.jobs.weeks.requests import Menu, WeekItem
from service.reference.foods.catalogue import find_food
from service.reference.foods.recipes import recipe_parts
from service.reference.weeks.school_food_groups import foods_in_groups, microlitres_of, portions_in, with_wider


def counted_items(
    asked: Sequence[WeekItem], items: Sequence[PreparedItem], eaten_mg: Sequence[int], age_group: str
) -> tuple[CountedItem, ...]:
    """Each item (and each part of a dish) that was eaten at least in part.

    ``eaten_mg``: of each item, in milligrams, 0 for what was left.
    """
    found: list[CountedItem] = []
    for one, item, eaten in zip(asked, items, eaten_mg, strict=True):
        if eaten:
            found += _of_item(one, item.food, eaten, age_group)
    return tuple(found)


def counted_menu(menu: Menu) -> tuple[CountedItem, ...]:
    """A bought lunch: each group that it was said to hold is one portion; unknown where nobody said."""
    if menu.groups is None:
        return (CountedItem(menu.name, None, menu.name, 0, {}),)
    groups = with_wider(frozenset(menu.groups))
    return (CountedItem(menu.name, groups, menu.name, 0, dict.fromkeys(groups, THOUSANDTHS)),)


def _of_item(asked: WeekItem, food: Food, eaten_mg: int, age_group: str) -> Iterator[CountedItem]:
    if asked.groups is not None:
        groups = with_wider(frozenset(asked.groups))
        kind = asked.kind or food.name
        ul = microlitres_of(groups, eaten_mg) if food.weighable else eaten_mg
        yield CountedItem(food.name, groups, kind, eaten_mg, dict.fromkeys(groups, THOUSANDTHS), amount_ul=ul)
        return
    yield from counted_food(food, eaten_mg, age_group, asked.food if isinstance(asked.food, Recipe) else None)


def counted_food(food: Food, amount_mg: int, age_group: str, recipe: Recipe | None = None) -> Iterator[CountedItem]:
    """A food in its amount, and for a dish its parts."""
    if food.kind == "lunch_food":
        yield _lunch_food(food, amount_mg, age_group, True)
        return
    parts = recipe_parts().get(food.id) if food.kind == "recipe" else None
    if parts is not None:
        yield CountedItem(food.name, frozenset({"main"}), food.name, amount_mg, {"main": THOUSANDTHS})
        for food_id, part_mg in parts:
            yield from _part(food_id, part_mg * amount_mg // food.basis_mg, age_group)
    elif recipe is not None:
        yield CountedItem(food.name, frozenset({"main"}), food.name, amount_mg, {"main": THOUSANDTHS})
        for one in recipe.ingredients:
            part_mg = round(one.grams * 1000) * amount_mg // food.basis_mg
            if isinstance(one.food, str):
                yield from _part(one.food, part_mg, age_group)
            else:
                yield CountedItem(one.food.name, None, one.food.name, part_mg, {}, served=False)
    else:
        yield CountedItem(food.name, None, food.name, amount_mg, {})


def _part(food_id: str, amount_mg: int, age_group: str) -> Iterator[CountedItem]:
    food = find_food(food_id)
    if food is None or food.kind != "lunch_food":
        yield CountedItem(food_id, None, food_id, amount_mg, {}, served=False)
    else:
        yield _lunch_food(food, amount_mg, age_group, False)


@lru_cache(maxsize=4096)
def _lunch_food(food: Food, amount_mg: int, age_group: str, served: bool) -> CountedItem:
    """One lunch food in its amount; remembered, since the tables do not change while the program runs."""
    placed = foods_in_groups().get(food.id)
    if placed is None:
        return CountedItem(food.name, None, food.name, amount_mg, {}, served)
    groups = placed.groups if served else placed.groups - {"main"}
    portions = {group: portions_in(food.id, food.category, group, age_group, amount_mg) for group in groups}
    ul = microlitres_of(groups, amount_mg)
    return CountedItem(food.name, groups, placed.kind, amount_mg, portions, served, ul)
