"""Screen many children against many items or lunches in one go, and say in what order to make them."""

from typing import Any

from service.domain.allergens.screening import Avoidance, making_order, screen_food, worst_outcome
from service.domain.cautions import CAUTIONS
from service.domain.errors import BadInput, LunchError, raise_all
from service.domain.foods.food import Food
from service.domain.messages import message
from service.jobs.foods.resolve import food_of, food_of_item
from service.jobs.lunch.check_lunch import avoidances_of
from service.jobs.lunch.reply import screened_row
from service.jobs.requests import Child, ScreenedItem, ScreeningRequest
from service.reference.allergens.vocabulary import vocabulary
from service.reference.messages import listed_as, worded_as

MOST_CELLS = 20_000


def screen_family(asked: ScreeningRequest) -> dict[str, Any]:
    """A row per child and item: outcome, evidence, whether it must not be packed; and the making order.

    Unknown fails closed: an item of which nothing is known is ``check_label`` for every avoided allergen.
    Raises ``LunchError`` for unknown names, doubled nicknames, or more cells than one call answers.
    """
    words = vocabulary()
    faults: list[LunchError] = []
    things: list[tuple[str, list[Food]]] = []
    for place, item in enumerate(asked.items):
        try:
            things.append(_thing(item, f"/items/{place}"))
        except LunchError as fault:
            faults.append(fault)
    children: list[tuple[str, list[Avoidance]]] = []
    for place, child in enumerate(asked.children):
        if any(child.nickname == known for known, _avoids in children):
            faults.append(
                BadInput(
                    pointer=f"/children/{place}/nickname",
                    value="(a nickname)",
                    problem="stands twice",
                    remedy="Give each child a nickname of its own.",
                )
            )
        try:
            avoids = avoidances_of(Child(avoids=child.avoids), asked.setting)
            children.append((child.nickname, avoids))
        except LunchError as fault:
            faults.append(_moved(fault, place))
    raise_all(faults)
    cells = len(children) * sum(len(foods) for _name, foods in things)
    if cells > MOST_CELLS:
        raise BadInput(
            pointer="/items",
            value=f"{cells} cells",
            problem=f"is more than one call answers ({MOST_CELLS})",
            remedy="Send fewer children or items a call.",
        )
    rows = []
    for nickname, avoids in children:
        for name, foods in things:
            results = [(food, screen_food(words, food, avoidance)) for food in foods for avoidance in avoids]
            rows.append(
                {
                    "nickname": nickname,
                    "item": name,
                    "outcome": worst_outcome(one for _food, one in results),
                    "do_not_pack": any(one.do_not_pack for _food, one in results),
                    "findings": [screened_row(food, one) for food, one in results if one.outcome != "not_declared"],
                }
            )
    everything = [avoidance for _name, avoids in children for avoidance in avoids]
    distinct: dict[object, Food] = {}
    for _name, foods in things:
        for food in foods:
            distinct[id(food) if food.kind == "label" else food.id] = food  # two labels of one name are two foods
    return {
        "rows": rows,
        "making_order": [
            {"item": step.item, "handles": list(step.handles), "clean_before": list(step.clean_before)}
            for step in making_order(words, list(distinct.values()), everything)
        ],
        **worded_as("making_order_basis", message("making.order")),
        **listed_as("caution", CAUTIONS),
    }


def _thing(item: ScreenedItem, pointer: str) -> tuple[str, list[Food]]:
    if item.food is not None:
        food = food_of(item.food, pointer + "/food")
        return item.name or food.name, [food]
    foods = [food_of_item(one, f"{pointer}/lunch/{place}") for place, one in enumerate(item.lunch or [])]
    return item.name or " + ".join(food.name for food in foods), foods


def _moved(fault: LunchError, place: int) -> LunchError:
    """Seen from the screening: the child's place goes in front, unless the setting is at fault."""
    for one in fault.faults():
        if one.pointer.startswith("/child/"):
            one.pointer = f"/children/{place}" + one.pointer.removeprefix("/child")
            one.args = (one.sentence(),)
    return fault
