"""A dish of a plan with what its stored recipe says of batches and keeping."""

from service.domain.errors import BadInput
from service.domain.messages import message
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.plan.weeks.requests import QUARTERS, Dish, DishWithIds


def dish_as_its_recipe_says(kept: KeptThings, dish: DishWithIds, place: int) -> Dish:
    """The dish, with the recipe's word where the request says nothing itself.

    ``place``: of the dish in the request. ``BadInput`` where neither says how many portions a batch makes.
    """
    said = kept.how_made(dish.food)
    parts = QUARTERS if said.batch_fractions else None
    found = {
        "batch_portions": said.portions,
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
    return Dish.model_construct(dish.model_fields_set | set(more), **whole)
