"""Promise: a change reads as a person says it, in each language: one and several, halves, slices and cups of a food."""

import pytest

from service.domain.foods.amounts import Portion
from service.domain.lunch.changing.changes import Change, ChangeKind
from service.domain.messages import Message, message_of
from service.domain.offers.changes import InOffer
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.offers.trials import change_message
from service.jobs.requests.lunches import LunchCheckRequest
from service.jobs.weeks.requests import WeekRequest
from service.jobs.weeks.sum_up_week import sum_up_week
from service.reference.foods.catalogue import find_food
from service.reference.messages import say

COLD = {"insulated": True, "cold_sources": 2, "minutes_until_eaten": 240}
CHILD = {"age_years": 8}


def changes(foods: list[str], offer: list[object]) -> list[Message]:
    request = {
        "standard": "us-school-lunch",
        "on": "2026-12-01",
        "child": CHILD,
        "lunch": {"items": [{"food": one} for one in foods], "holding": COLD},
        "offer": offer,
        "max_changes": 5,
    }
    return [message_of(one) for one in check_lunch(LunchCheckRequest.model_validate(request))["changes"]]


@pytest.mark.parametrize(
    ("foods", "offer", "english", "spanish"),
    [
        (["sandwich-turkey-cheese", "clementine", "milk-1-percent", "carrots-raw"], ["water"],
         "Take 2 clementines instead of 1 clementine.", "Pon 2 clementinas en vez de 1 clementina."),
        (["turkey-breast-sliced", "apple", "milk-1-percent"], [{"food": "bread-whole-wheat", "quantity": 2, "unit": "slice"}],
         "Add 2 slices of whole wheat bread.", "Añade 2 rebanadas de whole wheat bread."),
        (["sandwich-turkey-cheese", "apple", "milk-1-percent"], [{"food": "carrots-cooked", "quantity": 1, "unit": "half cup slices"}],
         "Add carrots, cooked, no salt (half a cup of slices).", "Añade carrots, cooked, no salt (media taza en rebanadas)."),
        (["chicken-breast-roasted", "apple", "milk-1-percent"], [{"food": "rice-brown-cooked", "quantity": 1, "unit": "half cup"}],
         "Add half a cup of brown rice, cooked, no salt.", "Añade media taza de brown rice, cooked, no salt."),
        (["bread-whole-wheat", "apple", "milk-1-percent"], [{"food": "egg-hard-boiled", "quantity": 2, "unit": "large egg"}],
         "Add egg, hard boiled (2 large eggs).", "Añade egg, hard boiled (2 huevos grandes)."),
        (["sandwich-turkey-cheese", "apple", "milk-1-percent"], [{"food": "carrots-baby-raw", "quantity": 6, "unit": "carrot"}],
         "Add baby carrots, raw (6 carrots).", "Añade baby carrots, raw (6 zanahorias)."),
    ],
)  # fmt: skip
def test_a_change_to_a_lunch(foods: list[str], offer: list[object], english: str, spanish: str) -> None:
    found = changes(foods, offer)
    assert english in [say(one) for one in found]
    assert spanish in [say(one, "es") for one in found]


def test_a_change_to_a_week_says_the_days_first() -> None:
    """Names of foods hold commas: days after them would read as part of the name."""
    request = {
        "standard": "us-school-lunch",
        "week": "2026-W49",
        "child": CHILD,
        "days": [
            {"date": f"2026-12-0{day}", "kind": "packed", "items": [{"food": "bread-whole-wheat"}, {"food": "apple"}]}
            for day in (1, 2)
        ],
    }
    found = [message_of(one) for one in sum_up_week(WeekRequest.model_validate(request))["changes"]]
    assert found
    for one in found:
        assert say(one).startswith(("On Tuesday and Wednesday, ", "On Tuesday, ", "On Wednesday, "))
        assert say(one, "es").startswith(("El martes y miércoles, ", "El martes, ", "El miércoles, "))


@pytest.mark.parametrize(
    ("kind", "before", "food", "quantity", "unit", "english", "spanish"),
    [
        ("portion", "clementine", "clementine", 2, "clementine",
         "In day, make the portion of clementine 2 clementines.", "En day, haz que la porción de clementine sea 2 clementinas."),
        ("portion", "rice-brown-cooked", "rice-brown-cooked", 0.5, "cup",
         "In day, make the portion of brown rice, cooked, no salt half a cup.",
         "En day, haz que la porción de brown rice, cooked, no salt sea media taza."),
        ("swap", "apple", "clementine", 2, "clementine",
         "In day, set out 2 clementines instead of apple.", "En day, ofrece 2 clementinas en vez de manzana."),
        ("add", None, "bread-whole-wheat", 2, "slice",
         "Set out 2 slices of whole wheat bread in day too.", "Ofrece también 2 rebanadas de whole wheat bread en day."),
    ],
)  # fmt: skip
def test_a_change_to_an_offer(
    kind: ChangeKind, before: str | None, food: str, quantity: float, unit: str, english: str, spanish: str
) -> None:
    comes = find_food(food)
    assert comes is not None
    out = None if before is None else find_food(before)
    into = Portion(comes, 100_000, quantity, unit)
    change = Change(kind, InOffer("day", before, food), 0, (), (), out, into)
    assert say(change_message(change)) == english
    assert say(change_message(change), "es") == spanish
