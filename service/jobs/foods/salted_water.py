"""What to ask of a cook who has not said whether the water for cooking is salted: asked only where sodium depends on it."""

from collections.abc import Iterable, Sequence

from service.domain.foods.food import Food
from service.domain.measures import MEASURE_INDEX
from service.domain.messages import Message, message
from service.reference.foods.catalogue import find_food
from service.reference.foods.lunch_foods import salted_kind

SODIUM = MEASURE_INDEX["sodium_mg"]
FIELD = "salts_cooking_water"
"""What answers it, in a request and of a household."""
QUESTION = "caution.salted-water"


def salted_water_cautions(foods: Iterable[Food], told: bool | None) -> list[Message]:
    """One question for all the foods whose sodium hangs on the water; none where it is answered, or there is no such food.

    ``told``: what the request or the household says; None: nothing.
    """
    if told is not None:
        return []
    parts = {part.id: part for food in foods for part in food.made_of or (food,)}
    names = sorted({part.name for part in parts.values() if _hangs_on_it(part)})
    return [_question(names)] if names else []


def asked_once(said: Iterable[Message]) -> list[Message]:
    """What was said of the parts of a table, with the questions of all parts as one at the end."""
    others, names = [], set[str]()
    for one in said:
        if one.code == QUESTION:
            names.update(one.params["names"])  # type: ignore[arg-type]  # a list of names, see ``_question``
        else:
            others.append(one)
    return [*others, _question(sorted(names))] if names else others


def _question(names: Sequence[str]) -> Message:
    return message("caution.salted-water", names=names, field=FIELD)


def _hangs_on_it(food: Food) -> bool:
    """Whether its sodium is the table's own figure, and another where the water is salted; a packet's figure is settled."""
    if food.kind == "label":
        return False
    plain, salted = find_food(food.id), salted_kind(food.id)
    if plain is None or salted is None:
        return False
    return food.nutrients[SODIUM] == plain.nutrients[SODIUM] != salted.nutrients[SODIUM]
