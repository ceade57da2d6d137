"""A branded food as a reply: each value with its source and date, the allergens that its ingredients name, what is doubtful."""

from datetime import date
from typing import Any

from service.domain.foods.branded import BrandedFood, BrandedValue
from service.jobs.foods.branded.allergens import allergens_of
from service.jobs.foods.containments import allergens_reply


def branded_food_reply(food: BrandedFood) -> dict[str, Any]:
    """A branded food as published; ``amount`` is in the unit beside it, for what ``basis`` names; null is not known."""
    from service.reference.messages import listed_as

    return {
        "gtin": food.gtin,
        "fdc_id": food.fdc_id,
        "description": food.description,
        "brand_owner": food.brand_owner,
        "brand_name": food.brand_name,
        "category": food.category,
        "serving_amount": food.serving_amount,
        "serving_unit": food.serving_unit,
        "household_serving": food.household_serving,
        "market": food.market,
        "modified": _day(food.modified),
        "available": _day(food.available),
        "published": _day(food.published),
        "date": _day(food.date),
        "discontinued": _day(food.discontinued),
        "source": food.source,
        "read": _day(food.read),
        "ingredients": food.ingredients,
        "values": [_value(one) for one in food.values],
        "values_fdc_id": food.values_fdc_id,
        **allergens_reply(allergens_of(food)),
        **listed_as("note", food.notes),
    }


def _value(value: BrandedValue) -> dict[str, Any]:
    return {
        "nutrient": value.nutrient,
        "amount": None if value.amount is None else round(value.amount, 3),
        "unit": value.unit,
        "basis": value.basis,
        "fdc_id": value.fdc_id,
        "date": _day(value.date),
        "implausible": value.implausible,
    }


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()
