"""Foods with one name: merged where the tables say the same of them, else told apart by table and energy."""

from collections import Counter
from collections.abc import Callable, Iterable

from service.domain.foods.food import Food
from service.domain.measures import ENERGY
from service.domain.messages import Message, message
from service.reference.foods.search import fold


def without_doubles(ids: Iterable[tuple[str, str]], food: Callable[[str], Food]) -> list[str]:
    """The ids of foods, without those that have the name of one before and no other figure than it.

    ``ids``: id and name, the likeliest first. A figure that only one of two knows makes no difference if the first one knows it.
    """
    ids = list(ids)
    often = Counter(fold(name) for _id, name in ids)
    kept: list[str] = []
    seen: dict[str, list[Food]] = {}
    for food_id, name in ids:
        if often[fold(name)] > 1:
            one = food(food_id)
            before = seen.setdefault(fold(name), [])
            if any(_says_no_more(one, other) for other in before):
                continue
            before.append(one)
        kept.append(food_id)
    return kept


def _says_no_more(one: Food, other: Food) -> bool:
    pairs = zip(one.nutrients, other.nutrients, strict=True)
    return one.basis_mg == other.basis_mg and all(
        value is None or (known is not None and value == known) for value, known in pairs
    )


def told_apart(food: Food) -> Message:
    """What tells a food from another of its name: where its figures are from, and its energy."""
    table = ", ".join(sorted(food.editions)) or food.source
    energy = food.nutrients[ENERGY]
    if energy is None or not food.basis_mg:
        return message("alike.table", table=table)
    return message("alike.table-and-energy", table=table, kcal=round(float(energy) * 100 / food.basis_mg))
