"""Whose law a label follows decides what "spices" and "natural flavors" may stand for.

Sources: 21 CFR 101.22(a)(2) and (3), US labels may name celery seed and mustard flour by such words; Regulation (EU) No 1169/2011,
Annex II items 9 and 10 with Article 21, and the same list in Great Britain, must name both; Canada's list has mustard and no celery.
"""

from datetime import date

import pytest

from service.domain.allergens.screening import Avoidance, screen_food
from service.domain.errors import UnknownName
from service.jobs.foods.from_label import food_of_label
from service.jobs.foods.packets import allergens_read
from service.jobs.requests.foods import LabelFood, Packet
from service.reference.allergens.vocabulary import vocabulary
from tests.domain.labels.label_reading import to_check


def outcome(ingredients: str, law: str | None, allergen: str) -> str:
    label = {"name": "crisps", "serving": {"grams": 30}, "ingredients": ingredients, "label_law": law}
    return screen_food(
        vocabulary(), food_of_label(LabelFood.model_validate(label)), Avoidance(allergen, "contains")
    ).outcome


@pytest.mark.parametrize(
    "text", ["Potatoes, natural flavors, salt", "Potatoes, natural flavouring, salt", "Papas, especias, sal"]
)
def test_flavours_and_spices_may_stand_for_celery_seed_and_mustard(text):
    assert {"celery", "mustard"} <= to_check(text)


@pytest.mark.parametrize("words", ["spices", "natural flavourings", "curry powder, mixed spices"])
@pytest.mark.parametrize(
    ("law", "allergen", "answer"),
    [
        (None, "mustard", "check_label"),
        ("US", "mustard", "check_label"),
        ("EU", "mustard", "not_declared"),
        ("GB", "mustard", "not_declared"),
        ("UK", "mustard", "not_declared"),
        ("CA", "mustard", "not_declared"),
        ("AU", "mustard", "check_label"),
    ],
)
def test_they_stand_for_nothing_that_the_law_of_the_label_makes_it_name(words, law, allergen, answer):
    assert outcome(f"Potatoes, {words}, salt", law, allergen) == answer


def test_celery_need_not_be_named_in_canada():
    assert outcome("Potatoes, spices, salt", "CA", "celery") == "check_label"
    assert outcome("Potatoes, spices, salt", "EU", "celery") == "not_declared"


def test_what_is_named_counts_under_every_law():
    assert outcome("Potatoes, spices (contain mustard), salt", "EU", "mustard") == "avoid"
    assert outcome("Potatoes, mayonnaise, salt", "EU", "mustard") == "check_label"


def test_a_packet_follows_a_law_too():
    packet = {"food": "hummus", "read_on": date(2026, 11, 3), "ingredients": "Chickpeas, spices, salt"}
    assert allergens_read(Packet.model_validate(packet))["mustard"] == "unknown"
    assert "mustard" not in allergens_read(Packet.model_validate(packet | {"label_law": "EU"}))


def test_a_law_without_a_list_is_a_fault_that_names_those_with_one():
    with pytest.raises(UnknownName) as fault:
        outcome("Potatoes, spices", "XX", "mustard")
    assert fault.value.pointer == "/label_law"
    assert "GB" in str(fault.value)
