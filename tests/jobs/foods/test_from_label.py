"""A label of another country: salt in the place of sodium, kilojoules in the place of kilocalories, and slips of either."""

from typing import Any

import pytest
from pydantic import ValidationError

from service.domain.errors import LunchError
from service.jobs.foods.from_label import food_of_label
from service.jobs.requests.foods import LabelFood, NutritionFacts


def label(facts: dict[str, Any], **more: Any) -> LabelFood:
    return LabelFood.model_validate({"name": "crackers", "serving": {"grams": 30}, "facts": facts, **more})


def test_salt_and_kilojoules_become_sodium_and_kilocalories() -> None:
    """Regulation (EU) No 1169/2011, Annex I: salt is sodium times 2.5; 4.184 kJ are 1 kcal by definition."""
    facts = NutritionFacts(salt_g=1.2, energy_kj=2100)
    assert facts.model_dump(exclude_none=True) == {"sodium_mg": 480.0, "energy_kcal": 501.9}


def test_both_on_one_label_have_to_agree_within_their_rounding() -> None:
    assert NutritionFacts(salt_g=0.03, sodium_mg=10, energy_kj=2101, energy_kcal=502).sodium_mg == 10
    with pytest.raises(ValidationError) as caught:
        NutritionFacts(salt_g=1.2, sodium_mg=1200)
    assert "does not agree with 1.2 g" in str(caught.value)


def test_salt_beyond_what_is_kept_as_sodium_is_refused_at_its_own_field() -> None:
    """It was taken, and the day's record could not be read as the document describes it."""
    most = NutritionFacts(salt_g=250)
    assert NutritionFacts.model_validate_json(most.model_dump_json()).model_dump() == most.model_dump()
    with pytest.raises(ValidationError) as caught:
        NutritionFacts(salt_g=250.1)
    assert [fault["loc"] for fault in caught.value.errors()] == [("salt_g",)]


def test_a_figure_that_cannot_be_right_is_refused_at_its_field_with_what_to_check() -> None:
    with pytest.raises(LunchError) as caught:
        food_of_label(label({"fat_g": 20, "carbohydrate_g": 65, "saturated_fat_g": 30}))
    problems = str(caught.value)
    assert "/facts/saturated_fat_g" in problems
    assert "/facts/carbohydrate_g" in problems


def test_a_food_that_was_kept_before_is_still_read() -> None:
    kept = label({"fat_g": 2, "saturated_fat_g": 5}, id="6b0d6e8c-2f1c-4f1e-9a55-111111111111")
    assert food_of_label(kept).name == "crackers"
