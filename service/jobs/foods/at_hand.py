"""The foods that a change may bring in: those that the caller names, or the everyday lunch foods."""

from collections.abc import Mapping, Sequence
from typing import Any

from service.domain.errors import BadInput, LunchError, raise_all
from service.domain.foods.amounts import Portion, credit_option
from service.domain.foods.food import Food
from service.jobs.foods.resolve import amount_of, food_by_id, food_of_item
from service.jobs.requests import LunchItem
from service.reference.foods.catalogue import packable_foods

NOT_SUGGESTED = frozenset({"condiments", "sweet-snacks", "drinks"})
"""Categories left out where nobody named the foods at hand (our choice)."""


def foods_named(named: Sequence[str | LunchItem], pointer: str) -> list[Portion]:
    """The foods named, each in its amount, or in its usual portion where only an id is given.

    Raises ``LunchError`` (several together) for any that does not fit the reference data.
    """
    found: list[Portion] = []
    faults: list[LunchError] = []
    for place, one in enumerate(named):
        try:
            if isinstance(one, LunchItem):
                food = food_of_item(one)
                amount_mg, unit = amount_of(food, one.quantity, one.unit)
                option = credit_option(food, one.credit_as)
                found.append(Portion(food, amount_mg, one.quantity, unit, one.form or usual_form(food), option))
            else:
                found.append(_usual(food_by_id(one)))
        except LunchError as fault:
            faults.append(fault.under(f"{pointer}/{place}"))
    raise_all(faults)
    return found


def everyday_foods() -> list[Portion]:
    """The lunch foods suggested where none are named, each in its usual portion."""
    return [_usual(food) for food in packable_foods() if food.everyday and food.category not in NOT_SUGGESTED]


def usual_form(food: Food) -> str | None:
    """How a food is cut where nobody says otherwise; None where that is not known."""
    return food.handling.forms[0] if food.handling.forms else None


def _usual(food: Food) -> Portion:
    unit = food.units[0]
    return Portion(food, unit.grams_mg, 1.0, unit.name, usual_form(food), credit_option(food, None))


def item_of_change(change: Mapping[str, Any], named: Sequence[str | LunchItem]) -> dict[str, Any]:
    """What a change row brings in, as the fields of an item of a request.

    ``named``: the foods at hand of the request. What was sent there with a label or a recipe is taken from there. Raises
    ``BadInput`` where the change brings in such a food and it is not there.
    """
    for one in named:
        if isinstance(one, LunchItem):
            food, name = (one.food, None) if isinstance(one.food, str) else (None, one.food.name)
            same_food = food == change["food"] if food else name == change["name"]
            if same_food and one.quantity == change["quantity"] and one.unit in (None, change["unit"]):
                return one.model_dump(exclude_unset=True)
    if change["food"] in ("label", "recipe"):
        raise BadInput(
            field=("change", "name"),
            value=change["name"],
            problem="is not among the foods at hand",
            remedy="Apply the change to the request it was found for.",
        )
    return {"food": change["food"], "quantity": change["quantity"], "unit": change["unit"]}
