"""Promise: every household measure that a food is shown with can be packed by, however long its name."""

from service.jobs.foods.resolve import amount_of
from service.jobs.requests.lunches import LunchItem
from service.reference.foods.catalogue import find_food
from service.reference.foods.generic_foods import generic_foods


def test_every_long_household_measure_is_a_unit_of_an_item() -> None:
    long = 0
    for food_id in generic_foods().ids():
        food = find_food(food_id)
        assert food is not None
        for unit in food.units:
            if len(unit.name) > 60:
                long += 1
                asked = LunchItem.model_validate({"food": food_id, "unit": unit.name, "quantity": 1})
                assert amount_of(food, asked.quantity, asked.unit) == (unit.grams_mg, unit.name)
    assert long > 200
