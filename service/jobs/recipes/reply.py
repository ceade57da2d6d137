"""Says how a recipe was read."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from service.domain.messages import message
from service.domain.recipes.quantities import Measured
from service.domain.recipes.saved_recipe import SavedRecipe
from service.jobs.recipes.requests import RecipeReadingRequest
from service.jobs.recipes.settled import LineState, SettledLine
from service.jobs.requests.foods import MOST_INGREDIENTS
from service.reference.messages import say, worded, worded_as


def reading_reply(
    asked: RecipeReadingRequest, recipe: SavedRecipe, lines: Sequence[SettledLine], country: str | None
) -> dict[str, Any]:
    """The reading as published: the lines in their order, and ``dish``: the body of POST /v1/recipes of those that are settled."""
    ready = [one for one in lines if one.state is LineState.READ]
    to_answer = sum(one.state is LineState.ASK for one in lines)
    notes = list(recipe.notes)
    if len(ready) > MOST_INGREDIENTS:
        notes.append(message("recipe-note.too-many", n=len(ready), most=MOST_INGREDIENTS))
    name = asked.name or recipe.name or say(message("recipe-note.no-name"))
    portions = asked.portions or (None if recipe.portions is None else float(recipe.portions))
    if portions is None:
        notes.append(message("recipe-note.no-portions"))
    return {
        "name": name,
        "named": bool(asked.name or recipe.name),
        "address": recipe.address or None,
        "makes": recipe.makes or None,
        "portions": portions,
        "preparation_minutes": recipe.preparation_minutes,
        "cooking_minutes": recipe.cooking_minutes,
        "country": country,
        "lines": [_line(place, one) for place, one in enumerate(lines)],
        "to_answer": to_answer,
        "complete": not to_answer and bool(ready) and len(ready) <= MOST_INGREDIENTS and portions is not None,
        "dish": _dish(name, portions, ready, recipe.address),
        "notes": [worded(one) for one in notes],
    }


def _dish(name: str, portions: float | None, ready: Sequence[SettledLine], address: str) -> dict[str, Any] | None:
    ingredients = [
        {"food": one.food.id, "grams": one.grams} for one in ready[:MOST_INGREDIENTS] if one.food is not None
    ]
    if not ingredients:
        return None
    dish = {"name": name, "portions": 1.0 if portions is None else portions, "ingredients": ingredients}
    return {**dish, "from_address": address} if address else dish


def _line(place: int, line: SettledLine) -> dict[str, Any]:
    reading = line.reading
    return {
        "line": place,
        "text": reading.text,
        "state": line.state.value,
        "reading": {
            "amount": _number(reading.amount),
            "amount_to": _number(reading.amount_to),
            "unit": None if reading.unit is None else reading.unit.id,
            "pack": _measured(reading.pack),
            "beside": _measured(reading.beside),
            "plus": _measured(reading.plus),
            "size": reading.size,
            "food": reading.food,
            "preparation": reading.preparation,
            "note": reading.note,
            "spans": {part: {"start": start, "end": end} for part, (start, end) in reading.spans.items()},
        },
        "doubts": [{**worded(one), "answer_with": line.answer_with(one)} for one in line.doubts],
        "candidates": [{**one._asdict(), **worded_as("apart", one.apart)} for one in line.candidates],
        "food": None if line.food is None else line.food.id,
        "food_name": None if line.food is None else line.food.name,
        "grams": line.grams,
        **worded_as("weighed", line.how),
    }


def _measured(measured: Measured | None) -> dict[str, Any] | None:
    return None if measured is None else {"amount": _number(measured.amount), "unit": measured.unit.id}


def _number(number: Fraction | None) -> float | None:
    return None if number is None else round(float(number), 4)
