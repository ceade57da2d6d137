"""The foods that a change may bring in: those that the caller names, or the everyday lunch foods."""

from collections.abc import Sequence

from service.domain.errors import Faults
from service.domain.foods.amounts import Portion, credit_option
from service.domain.foods.food import Food
from service.domain.foods.packets import NO_PACKETS, Packets
from service.jobs.foods.resolve import amount_of, food_of, food_of_item
from service.jobs.requests.lunches import LunchItem
from service.reference.foods.catalogue import packable_foods
from service.reference.foods.suggesting import suggesting

LIKE_MILK = frozenset({"milk", "plant-drinks"})
NOT_SUGGESTED = frozenset({"condiments", "sweet-snacks", "drinks"})
"""Categories left out where nobody named the foods at hand (our choice)."""


def foods_named(named: Sequence[str | LunchItem], packets: Packets = NO_PACKETS) -> list[Portion]:
    """The foods named, each in its amount, or in its usual portion where only an id is given.

    Raises ``LunchError`` (several together) for any that does not fit the reference data, with its place in the list.
    """
    found: list[Portion] = []
    faults = Faults()
    for place, one in enumerate(named):
        with faults.at(place):
            if isinstance(one, LunchItem):
                food = food_of_item(one, packets)
                amount_mg, unit = amount_of(food, one.quantity, one.unit)
                option = credit_option(food, one.credit_as)
                found.append(Portion(food, amount_mg, one.quantity, unit, one.form or usual_form(food), option))
            else:
                found.append(_usual(food_of(one, packets)))
    faults.raise_all()
    return found


def everyday_foods(packets: Packets = NO_PACKETS) -> list[Portion]:
    """The lunch foods suggested where none are named, each in its usual portion."""
    return [
        _usual(food_of(food.id, packets))
        for food in packable_foods()
        if food.everyday and food.category not in NOT_SUGGESTED and food.id not in suggesting().not_for_everybody
    ]


def drinks_like_milk(packets: Packets = NO_PACKETS) -> list[Portion]:
    """Milk and drinks in its place that are not everyday foods, each in its usual portion: for a child that must not have milk."""
    return [
        _usual(food_of(food.id, packets))
        for food in packable_foods()
        if food.category in LIKE_MILK and not food.everyday and not food.discretionary
    ]


def usual_form(food: Food) -> str | None:
    """How a food is cut where nobody says otherwise; None where that is not known."""
    return food.handling.forms[0] if food.handling.forms else None


def _usual(food: Food) -> Portion:
    unit = food.units[0]
    return Portion(food, unit.grams_mg, 1.0, unit.name, usual_form(food), credit_option(food, None))
