"""What was read on a packet is used wherever its food is: alone, in dishes, in offers, weeks and screenings."""

from typing import Any

import pytest
from pydantic import ValidationError

from service.domain.errors import LunchError
from service.jobs.allergens.screen_family import screen_family
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.requests import OfferAuditRequest
from service.jobs.request_faults import request_fault
from service.jobs.requests.lunches import LunchCheckRequest
from service.jobs.requests.screenings import ScreeningRequest

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


ONCE = {**READ, "read_on": "2026-11-20", "holds_for_days": 0}


def test_an_older_packet_does_not_clear_what_a_newer_one_named_whose_days_are_over() -> None:
    """Unknown is never clear: ours, no source. What the newer packet did not name stays clear by the older one."""
    once = {**ONCE, "ingredients": BREAD + " Sesame seeds.", "may_contain": "May contain almonds."}
    on = "2026-11-21"
    found = row("bread-whole-wheat", "sesame", READ, once, on=on)
    assert found["outcome"] == "check_label"
    assert "20 November 2026, which no longer counts" in found["evidence"]
    for allergen in ("almond", "tree_nut"):
        assert outcome("bread-whole-wheat", allergen, READ, once, on=on, threshold="may_contain") == "check_label"
    assert outcome("bread-whole-wheat", "soy", READ, once, on=on) == "not_declared"
    assert outcome("sandwich-cheese", "sesame", once, READ, on=on) == "check_label"
    assert outcome("bread-whole-wheat", "sesame", READ, {**ONCE, "ingredients": BREAD}, on=on) == "not_declared"
    ticked = {**ONCE, "ingredients": None, "allergens": [tick("sesame", "may_contain")]}
    assert outcome("bread-whole-wheat", "sesame", READ, ticked, on=on) == "check_label"
    read_again = {**READ, "read_on": "2026-11-22"}
    assert outcome("bread-whole-wheat", "sesame", READ, once, read_again, on="2026-11-23") == "not_declared"


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


def claimed(food: str, *claims: str, **more: Any) -> dict[str, Any]:
    return {"food": food, "read_on": "2026-11-03", "claims": list(claims), **more}


GF_OATS = "coeliac disease with gluten-free oats"


@pytest.mark.parametrize(
    ("food", "avoids", "expected"),
    [
        # Regulation (EU) No 828/2014, 21 CFR 101.91: the claim speaks of gluten, not of wheat.
        ("bread-white", "coeliac disease", "not_declared"),
        ("bread-white", "gluten", "not_declared"),
        ("bread-white", "wheat", "avoid"),
        # Oats bear the claim and are oats all the same: only who bears them may have them.
        ("oats-rolled-dry", "coeliac disease", "avoid"),
        ("oats-rolled-dry", GF_OATS, "not_declared"),
        ("oats-rolled-dry", "oats", "avoid"),
    ],
)
def test_a_gluten_free_claim_clears_gluten_and_no_cereal(food: str, avoids: str, expected: str) -> None:
    listed = {"ingredients": "Gluten-free wheat starch, rice flour, water, salt."} if food == "bread-white" else {}
    assert outcome(food, avoids, claimed(food, "gluten_free", **listed)) == expected


def test_oats_without_the_claim_are_not_clear_for_who_bears_oats() -> None:
    assert outcome("oats-rolled-dry", GF_OATS) == "avoid"
    read = {"food": "oats-rolled-dry", "read_on": "2026-11-03", "ingredients": "Rolled oats."}
    assert outcome("oats-rolled-dry", GF_OATS, read) == "avoid"


def test_a_claim_alone_leaves_the_oats_to_be_read() -> None:
    assert outcome("bread-white", "coeliac disease", claimed("bread-white", "gluten_free")) in (
        "check_label", "label_not_seen",
    )  # fmt: skip


def test_a_lactose_free_claim_clears_lactose_and_never_milk() -> None:
    read = claimed("yogurt-plain-low-fat", "lactose_free")
    assert outcome("yogurt-plain-low-fat", "lactose") == "avoid"
    assert outcome("yogurt-plain-low-fat", "lactose", read) == "not_declared"
    assert outcome("yogurt-plain-low-fat", "milk", read) == "avoid"


@pytest.mark.parametrize(
    ("ingredients", "gluten", "wheat"),
    [
        # Regulation (EU) No 1169/2011, Annex II, 1 (a) to (c).
        ("Sugar, glucose syrup (wheat), gelling agent: pectin.", "not_declared", "avoid"),
        ("Sugar, glucose syrup (from wheat), salt.", "not_declared", "avoid"),
        ("Sugar, wheat glucose syrup, salt.", "not_declared", "avoid"),
        ("Sugar, dextrose (wheat), salt.", "not_declared", "avoid"),
        ("Sugar, wheat maltodextrin, salt.", "not_declared", "avoid"),
        ("Sugar, gluten-free wheat starch, salt.", "not_declared", "avoid"),
        ("Sugar, glucose syrup (barley), salt.", "not_declared", "not_declared"),
        ("Sugar, dextrose (barley), salt.", "avoid", "not_declared"),
        ("Sugar, glucose syrup (wheat), wheat flour.", "avoid", "avoid"),
        ("Sugar, wheat starch, salt.", "avoid", "avoid"),
        ("Sugar, glucose syrup from wheat flour, salt.", "avoid", "avoid"),
        ("Sugar, glucose syrup (wheat, barley malt), salt.", "avoid", "avoid"),
    ],
)
def test_what_the_law_exempts_does_not_count_as_gluten(ingredients: str, gluten: str, wheat: str) -> None:
    label = {"name": "jellies", "serving": {"grams": 20}, "ingredients": ingredients}
    assert (outcome(label, "coeliac disease"), outcome(label, "wheat")) == (gluten, wheat)
    packet = {"food": "jam", "read_on": "2026-11-03", "ingredients": ingredients}
    assert (outcome("jam", "coeliac disease", packet), outcome("jam", "wheat", packet)) == (gluten, wheat)


def amount(measure: str, *packets: dict[str, Any], food: Any = "bread-white", grams: float = 50) -> Any:
    asked = {
        "standard": "us-school-lunch", "on": DAY, "child": {"age_years": 9}, "max_changes": 0,
        "lunch": {"items": [{"food": food, "quantity": grams, "unit": "g"}]}, "packets": list(packets),
    }  # fmt: skip
    return check_lunch(LunchCheckRequest.model_validate(asked))["totals"][measure]


def test_the_figures_of_a_packet_are_used_instead_of_the_tables() -> None:
    """Exact figures per 100 g and per serving; what is not printed stays the table's; in dishes too."""
    figures = {"food": "bread-white", "read_on": "2026-11-03", "facts_rounded": False}
    per_100 = {**figures, "facts": {"sodium_mg": 400}}
    per_serving = {**figures, "facts": {"sodium_mg": 100}, "facts_per": "serving", "serving": {"grams": 25}}
    assert amount("sodium_mg")["amount"] != 200
    for packet in (per_100, per_serving):
        assert amount("sodium_mg", packet)["amount"] == 200
        assert amount("energy_kcal", packet) == amount("energy_kcal")
    rounded = amount("sodium_mg", {**per_100, "facts_rounded": True})
    assert rounded["low"] < 200 < rounded["high"]


def test_the_figures_of_a_packet_are_used_in_a_dish() -> None:
    """A cheese sandwich of 64 g bread, 28.35 g cheese and 5 g butter, by bread without sodium."""
    bread = {"food": "bread-whole-wheat", "read_on": "2026-11-03", "facts_rounded": False, "facts": {"sodium_mg": 0}}
    rest = (
        amount("sodium_mg", food="cheese-cheddar", grams=28.35)["amount"]
        + amount("sodium_mg", food="butter", grams=5)["amount"]
    )
    assert amount("sodium_mg", bread, food="sandwich-cheese", grams=97.35)["amount"] == pytest.approx(rest, abs=0.01)


def test_a_packet_that_gives_a_serving_says_what_its_figures_hold_for() -> None:
    for wrong in ({"facts_per": "serving"}, {"serving": {"grams": 25}}):
        with pytest.raises(ValueError, match="facts_per serving alone"):
            LunchCheckRequest.model_validate({
                "standard": "us-school-lunch", "on": DAY, "child": {"age_years": 9}, "lunch": {"items": []},
                "packets": [{**READ, "facts": {"sodium_mg": 1}, **wrong}],
            })  # fmt: skip


def test_what_was_read_of_a_single_item_is_refused_with_the_way_to_send_it() -> None:
    item = {"food": "bread-white", "label_read": [{"allergen": "milk", "level": "free"}]}
    asked = {"standard": "us-school-lunch", "on": DAY, "child": {"age_years": 9}, "lunch": {"items": [item]}}
    with pytest.raises(ValidationError) as told:
        LunchCheckRequest.model_validate(asked)
    fault = request_fault(told.value.errors()[0])
    assert (fault["pointer"], fault["code"]) == ("/lunch/items/0/label_read", "label-read")
    assert "packets" in fault["remedy"]
