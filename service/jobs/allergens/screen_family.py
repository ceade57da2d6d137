"""Screen many children against many items or lunches in one go, and say in what order to make them."""

from datetime import date
from typing import Any, NamedTuple

from service.domain.allergens.screening import Avoidance, Screening, screen, worst_outcome
from service.domain.cautions import CAUTIONS
from service.domain.errors import BadInput, Faults, at
from service.domain.foods.food import Food
from service.domain.foods.packets import NO_PACKETS, Packets
from service.domain.messages import message
from service.jobs.allergens.avoidances import avoidances_of
from service.jobs.allergens.reply import not_read_cautions, screened_row
from service.jobs.foods.packets import packets_at_hand
from service.jobs.foods.resolve import food_of, food_of_item
from service.jobs.requests.people import Setting
from service.jobs.requests.screenings import ScreenedChild, ScreenedItem, ScreeningRequest
from service.reference.allergens.vocabulary import vocabulary
from service.reference.messages import listed_as, worded_as

MOST_CELLS = 20_000


NOBODY = ScreenedChild(nickname="-")
NO_BANS = Setting()


class ScreenedThing(NamedTuple):
    """A food, or a lunch of several, with the name it is shown by."""

    name: str
    foods: list[Food]


def screen_family(asked: ScreeningRequest) -> dict[str, Any]:
    """A row per child and item: outcome, evidence, whether it must not be packed; and the making order.

    Unknown fails closed: an item of which nothing is known is ``check_label`` for every avoided allergen.
    Raises ``LunchError`` for unknown names, doubled nicknames, or more cells than one call answers.

    Raises ``LunchError`` (``ManyFaults`` for several) for what does not fit the reference data.
    """
    things, avoids = _resolved(asked)
    return _reply(asked, things, screen(vocabulary(), avoids, [thing.foods for thing in things]))


def _resolved(asked: ScreeningRequest) -> tuple[list[ScreenedThing], list[list[Avoidance]]]:
    """The foods of every thing, and what each child (and the setting) avoids."""
    faults = Faults()
    things: list[ScreenedThing] = []
    packets = NO_PACKETS
    with faults.at("packets"):
        packets = packets_at_hand(asked.packets, asked.on or date.today())  # noqa: DTZ011 - the kitchen's own day
    for place, item in enumerate(asked.items):
        with faults.at("items", place):
            things.append(_thing(item, packets))
    avoids: list[list[Avoidance]] = []
    bans: list[Avoidance] = []
    with faults.at():
        bans = avoidances_of(NOBODY, asked.setting)
    seen: set[str] = set()
    for place, child in enumerate(asked.children):
        if child.nickname in seen:
            faults.add(
                BadInput(
                    field=("children", place, "nickname"),
                    value="(a nickname)",
                    problem=message("fault.nickname-twice"),
                )
            )
        seen.add(child.nickname)
        with faults.at():
            own = avoidances_of(child, NO_BANS, ("children", place))
            avoids.append(sorted(own + bans, key=lambda one: (one.allergen, one.by)))
    cells = len(asked.children) * sum(len(thing.foods) for thing in things)
    if not faults.found and cells > MOST_CELLS:
        faults.add(
            BadInput(
                field="items",
                value=f"{cells} cells",
                problem=message("fault.too-many-cells", most=MOST_CELLS),
            )
        )
    faults.raise_all()
    return things, avoids


def _thing(item: ScreenedItem, packets: Packets) -> ScreenedThing:
    if item.food is not None:
        with at("food"):
            food = food_of(item.food, packets)
        return ScreenedThing(item.name or food.name, [food])
    faults = Faults()
    foods: list[Food] = []
    for place, one in enumerate(item.lunch or []):
        with faults.at("lunch", place):
            foods.append(food_of_item(one, packets))
    faults.raise_all()
    return ScreenedThing(item.name or " + ".join(food.name for food in foods), foods)


def _reply(asked: ScreeningRequest, things: list[ScreenedThing], screening: Screening) -> dict[str, Any]:
    rows = []
    for cell in screening.cells:
        foods, sent = things[cell.thing].foods, asked.items[cell.thing]
        rows.append(
            {
                "nickname": asked.children[cell.child].nickname,
                "item": things[cell.thing].name,
                "place": cell.thing,
                "item_id": sent.id,
                "outcome": worst_outcome(one for _place, one in cell.found),
                "do_not_pack": any(one.do_not_pack for _place, one in cell.found),
                "findings": [
                    {
                        "item": None if sent.lunch is None else place,
                        "item_id": sent.id if sent.lunch is None else sent.lunch[place].id,
                        **screened_row(foods[place], one),
                    }
                    for place, one in cell.found
                    if one.outcome != "not_declared"
                ],
            }
        )
    return {
        "rows": rows,
        "making_order": [
            {
                "item": step.item,
                "places": _places(things, screening.foods[step.place]),
                "handles": list(step.handles),
                "clean_before": list(step.clean_before),
                "clean_for": [asked.children[child].nickname for child in step.clean_for],
            }
            for step in screening.steps
        ],
        **worded_as("making_order_basis", message("making.order")),
        **listed_as("caution", [*CAUTIONS, *not_read_cautions(screening.foods)]),
    }


def _places(things: list[ScreenedThing], food: Food) -> list[int]:
    """The places of the things that a food is in."""
    return [place for place, thing in enumerate(things) if food in thing.foods]
