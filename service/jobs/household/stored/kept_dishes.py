"""A dish of a plan with what its stored recipe says of batches and keeping."""

from service.domain.errors import BadInput
from service.domain.messages import message
from service.jobs.foods.resolve import amount_of, food_of
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.offers.requests import OfferedItem
from service.jobs.plan.weeks.requests import QUARTERS, Dish, DishWithIds

ROUNDED = 100
"""A batch may lack this part of a portion: portions are whole milligrams, so a few of them can weigh more than the batch."""


def dish_as_its_recipe_says(kept: KeptThings, dish: DishWithIds, place: int, item: OfferedItem | None) -> Dish:
    """The dish, with the recipe's word where the request says nothing itself.

    ``place``: of the dish in the request. ``item``: the first of the offers that has it, None: none has, or it is not known.
    ``BadInput`` where neither says how many portions a batch makes, and where a batch makes less than one of the offer.
    """
    said = kept.how_made(dish.food)
    parts = QUARTERS if said.batch_fractions else None
    found = {
        "batch_portions": said.portions if item is None or said.portions is None else _portions_of_offer(item),
        "keeps": said.keeps,
        "freezes": said.freezes,
        "thaw_hours": said.thaw_hours,
        "parts": parts,
    }
    more = {name: value for name, value in found.items() if value is not None and getattr(dish, name) is None}
    whole = {**dict(dish), **more}
    if whole["batch_portions"] is None:
        problem = message("fault.no-batch-portions")
        raise BadInput(field=("dishes", place, "batch_portions"), value=dish.food, problem=problem)
    if not whole["batch_portions"]:
        problem = message("fault.batch-below-portion")
        raise BadInput(field=("dishes", place, "food"), value=dish.food, problem=problem)
    return Dish.model_construct(dish.model_fields_set | set(more), **whole)


def _portions_of_offer(item: OfferedItem) -> int:
    """How many portions a batch of a recipe makes, as an offer sets them out: three of two cakes where it makes six cakes."""
    food = food_of(item.food)
    portion_mg, _unit = amount_of(food, item.quantity, item.unit)
    return (food.basis_mg + portion_mg // ROUNDED) // max(1, portion_mg)
