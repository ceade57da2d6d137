"""What was read on a packet is used wherever its food is: alone, in dishes, in offers, weeks and screenings."""

from typing import Any

import pytest

from service.domain.errors import LunchError
from service.jobs.allergens.screen_family import screen_family
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.requests import OfferAuditRequest
from service.jobs.requests import LunchCheckRequest, ScreeningRequest

BREAD = "Wheat flour, water, yeast, salt."
READ = {"food": "bread-whole-wheat", "read_on": "2026-11-03", "ingredients": BREAD}
DAY = "2026-12-01"


def row(food: Any, allergen: str, *packets: dict[str, Any], on: str = DAY, threshold: str = "contains") -> Any:
    """What a lunch check finds of one allergen in one food."""
    asked = {
        "standard": "us-school-lunch",
        "on": on,
        "child": {"age_years": 9, "avoids": [{"allergen": allergen, "threshold": threshold}]},
        "lunch": {"items": [{"food": food}]},
        "max_changes": 0,
        "packets": list(packets),
    }
    return check_lunch(LunchCheckRequest.model_validate(asked))["allergens"][0]


def outcome(food: Any, allergen: str, *packets: dict[str, Any], on: str = DAY, threshold: str = "contains") -> str:
    return str(row(food, allergen, *packets, on=on, threshold=threshold)["outcome"])


def test_what_a_packet_does_not_name_is_not_declared_and_the_day_is_said() -> None:
    assert outcome("bread-whole-wheat", "sesame") == "check_label"
    found = row("bread-whole-wheat", "sesame", READ)
    assert found["outcome"] == "not_declared"
    assert "3 November 2026" in found["evidence"]


def test_what_a_packet_names_beats_the_table() -> None:
    seeded = {**READ, "ingredients": BREAD + " Sesame seeds."}
    assert outcome("bread-whole-wheat", "sesame", seeded) == "avoid"
    assert "3 November 2026" in row("bread-whole-wheat", "sesame", seeded)["evidence"]
    warned = {**READ, "may_contain": "May contain sesame."}
    assert outcome("bread-whole-wheat", "sesame", warned) == "may_contain"
    assert outcome("apple", "milk", {**READ, "food": "apple", "contains": "Contains: milk"}) == "avoid"


def test_it_never_clears_what_is_there_by_nature_or_by_name() -> None:
    silent = {"read_on": "2026-11-03", "ingredients": "Water, salt."}
    assert outcome("peanut-butter-crunchy", "peanut", {**silent, "food": "peanut-butter-crunchy"}) == "avoid"
    assert outcome("bread-whole-wheat", "wheat", {**silent, "food": "bread-whole-wheat"}) == "avoid"
    ticked = {"food": "milk-1-percent", "read_on": "2026-11-03", "allergens": [tick("milk", "not_named")]}
    assert outcome("milk-1-percent", "milk", ticked) == "avoid"


def tick(allergen: str, level: str) -> dict[str, str]:
    return {"allergen": allergen, "level": level}


def test_a_tick_settles_its_own_allergen_only() -> None:
    ticked = {"food": "bread-whole-wheat", "read_on": "2026-11-03", "allergens": [tick("sesame", "not_named")]}
    assert outcome("bread-whole-wheat", "sesame", ticked) == "not_declared"
    assert outcome("bread-whole-wheat", "egg", ticked) == "check_label"
    worse = {**ticked, "allergens": [tick("sesame", "not_named"), tick("sesame", "may_contain")]}
    assert outcome("bread-whole-wheat", "sesame", worse) == "may_contain"


def test_only_a_statement_of_ingredients_clears_what_is_not_named() -> None:
    warning_only = {"food": "bread-whole-wheat", "read_on": "2026-11-03", "may_contain": "May contain milk."}
    assert outcome("bread-whole-wheat", "sesame", warning_only) == "check_label"
    assert outcome("bread-whole-wheat", "milk", warning_only, threshold="may_contain") == "may_contain"


def test_it_holds_from_the_day_it_was_read_for_its_days() -> None:
    for on, expected in (
        ("2026-11-02", "check_label"),
        ("2026-11-03", "not_declared"),
        ("2027-02-01", "not_declared"),
        ("2027-02-02", "check_label"),
    ):
        assert outcome("bread-whole-wheat", "sesame", READ, on=on) == expected, on
    this_one = {**READ, "holds_for_days": 0}
    assert outcome("bread-whole-wheat", "sesame", this_one, on="2026-11-03") == "not_declared"
    assert outcome("bread-whole-wheat", "sesame", this_one, on="2026-11-04") == "check_label"


def test_the_newest_that_holds_is_used_in_whatever_order_they_come() -> None:
    newer = {**READ, "read_on": "2026-11-20", "ingredients": BREAD + " Sesame seeds."}
    assert outcome("bread-whole-wheat", "sesame", READ, newer) == "avoid"
    assert outcome("bread-whole-wheat", "sesame", newer, READ) == "avoid"
    assert outcome("bread-whole-wheat", "sesame", newer, READ, on="2026-11-19") == "not_declared"


def test_a_dish_is_settled_by_the_packets_of_its_ingredients() -> None:
    crushed = "sr28-11693"  # Tomatoes, crushed, canned
    chili = {
        "name": "chili",
        "ingredients": [{"food": crushed, "grams": 400}, {"food": "beans-black-cooked", "grams": 300}],
    }
    assert outcome(chili, "soy") == "label_not_seen"
    tin = {"food": crushed, "read_on": "2026-11-03", "ingredients": "Tomatoes, citric acid."}
    beans = {"food": "beans-black-cooked", "read_on": "2026-11-03", "ingredients": "Black beans, water, salt."}
    assert outcome(chili, "soy", tin, beans) == "not_declared"
    assert outcome(chili, "soy", {**tin, "ingredients": "Tomatoes, soy sauce."}, beans) == "avoid"


def test_a_dish_of_the_tables_is_too() -> None:
    from service.reference.foods.recipes import recipe_parts

    assert outcome("sandwich-ham", "sesame") == "check_label"
    packets = [
        {"food": food, "read_on": "2026-11-03", "ingredients": "Salt, water."}
        for food, _mg in recipe_parts()["sandwich-ham"]
    ]
    assert outcome("sandwich-ham", "sesame", *packets) == "not_declared"
    assert outcome("sandwich-ham", "sesame", *packets[1:]) == "check_label"
    packets[0]["ingredients"] = "Salt, water, tahini (sesame)."
    assert outcome("sandwich-ham", "sesame", *packets) == "avoid"


def test_an_offer_keeps_a_food_whose_packet_was_read() -> None:
    def left_out(*packets: dict[str, Any]) -> list[str]:
        asked = {
            "on": DAY,
            "offer": {"groups": [{"id": "main", "items": [{"food": "bread-whole-wheat"}, {"food": "apple"}]}]},
            "children": [{"age_years": 9, "standard": "us-school-lunch", "avoids": [{"allergen": "sesame"}]}],
            "max_changes": 0,
            "packets": list(packets),
        }
        (child,) = audit_offer(OfferAuditRequest.model_validate(asked))["children"]
        return [one["item"] for one in child["left_out"]]

    assert left_out() == ["bread-whole-wheat"]
    assert left_out(READ) == []


def test_a_screening_uses_them_on_its_day() -> None:
    asked = {
        "children": [{"nickname": "A", "avoids": [{"allergen": "sesame"}]}],
        "items": [{"food": "bread-whole-wheat"}],
        "on": DAY,
        "packets": [READ],
    }
    assert screen_family(ScreeningRequest.model_validate(asked))["rows"][0]["outcome"] == "not_declared"
    asked["on"] = "2027-06-01"
    assert screen_family(ScreeningRequest.model_validate(asked))["rows"][0]["outcome"] == "check_label"


def test_all_faults_of_packets_are_reported_with_their_places() -> None:
    with pytest.raises(LunchError) as raised:
        outcome(
            "apple",
            "sesame",
            {**READ, "food": "bred"},
            {**READ, "allergens": [tick("sesamme", "contains")]},
            READ,
            READ,
        )
    assert {"/packets/0/food", "/packets/1/allergens/0/allergen", "/packets/2/read_on"} <= {
        one.pointer for one in raised.value.faults()
    }


@pytest.mark.parametrize("bad", ["4006381333930", "12", "abc"])
def test_a_wrong_bar_code_is_refused(bad: str) -> None:
    with pytest.raises(ValueError, match="gtin"):
        outcome("apple", "sesame", {**READ, "gtin": bad})


def test_a_right_bar_code_is_accepted() -> None:
    # GS1 General Specifications, section 7.9: the check digit of 629104150021 is 3.
    assert outcome("apple", "peanut", {**READ, "gtin": "6291041500213"}) == "not_declared"


def test_a_packet_that_says_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="says nothing"):
        outcome("apple", "sesame", {"food": "apple", "read_on": "2026-11-03"})


def test_a_statement_that_cannot_be_read_clears_nothing() -> None:
    for words in ("See packaging for ingredients.", "밀가루, 물, 효모, 소금"):
        assert outcome("bread-whole-wheat", "sesame", {**READ, "ingredients": words}) == "check_label", words
