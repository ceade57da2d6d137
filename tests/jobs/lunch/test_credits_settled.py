"""Every food credits or says why not; what a child must not have is not asked of it. Three kitchens, as parents send them.

The amounts are those of 7 CFR 210.10(c) and Exhibit A: an ounce of cooked meat, a half cup of cooked beans or tomatoes,
28 g of bread, 16 g of flour.
"""

from typing import Any

from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckRequest
from service.reference.foods.generic_foods import generic_foods

COMPONENTS = {"milk", "meat-alternate", "grain", "fruit", "vegetable"}


def checked(items: list[dict[str, Any]], **child: Any) -> dict[str, Any]:
    asked = {
        "standard": "us-school-lunch",
        "on": "2026-12-01",
        "child": {"age_years": 8, **child},
        "lunch": {"items": items},
    }
    return check_lunch(LunchCheckRequest.model_validate(asked))


def components(reply: dict[str, Any]) -> dict[str, str]:
    return {row["id"]: row["status"] for row in reply["findings"] if row["id"] in COMPONENTS}


def not_credited(reply: dict[str, Any]) -> list[Any]:
    return [one["params"]["names"] for one in reply["caution_messages"] if one["code"] == "caution.not-credited"]


def named(name: str) -> str:
    table = generic_foods()
    return max(table.ids()[place] for place, known in enumerate(table.names()) if known == name)


def test_a_chili_made_of_generic_foods() -> None:
    chili = {
        "name": "Chili",
        "portions": 4,
        "choking_rule": "none",
        "ingredients": [
            {"food": named("Beef, ground, 85% lean meat / 15% fat, raw"), "grams": 450},
            {"food": named("Beans, kidney, red, mature seeds, canned, drained solids"), "grams": 500},
            {"food": named("Tomatoes, red, ripe, canned, packed in tomato juice"), "grams": 480},
            {"food": named("Onions, raw"), "grams": 120},
            {"food": named("Spices, chili powder"), "grams": 8},
        ],
    }
    reply = checked([{"food": chili}, {"food": "orange"}, {"food": "milk-1-percent"}, {"food": "bread-whole-wheat"}])
    assert components(reply) == dict.fromkeys(COMPONENTS, "met")
    assert not_credited(reply) == []


def test_a_packet_without_credits_is_named_once_and_settled_by_what_it_is_like() -> None:
    packet = {"name": "Oat bites", "serving": {"grams": 28}, "facts": {"energy_kcal": 130}}
    rest: list[dict[str, Any]] = [{"food": "cheese-cheddar"}, {"food": "orange"}, {"food": "milk-1-percent"}]
    before = checked([{"food": packet}, *rest])
    assert components(before) == {
        "milk": "met",
        "meat-alternate": "met",
        "fruit": "met",
        "grain": "short",
        "vegetable": "short",
    }
    assert not_credited(before) == [["Oat bites"]]
    after = checked([{"food": {**packet, "counts_as": "bread"}}, *rest])
    assert components(after)["grain"] == "met"
    assert not_credited(after) == []


def test_a_home_made_muffin() -> None:
    """Flour of 320 g in 12 muffins: 26 g each, one and a half ounce equivalents of 16 g."""
    muffin = {
        "name": "Muffin",
        "portions": 12,
        "choking_rule": "none",
        "ingredients": [
            {"food": named("Wheat flour, white, all-purpose, enriched, bleached"), "grams": 320},
            {"food": named("Sugars, granulated"), "grams": 100},
            {"food": named("Egg, whole, raw, fresh"), "grams": 100},
            {"food": named("Oil, olive, salad or cooking"), "grams": 60},
            {"food": named("Leavening agents, baking powder, low-sodium"), "grams": 10},
        ],
    }
    reply = checked([{"food": muffin}])
    assert components(reply)["grain"] == "met"
    assert reply["items"][0]["credits"]["grain_oz_eq"] == 1.5
    assert not_credited(reply) == []


def test_a_dish_names_the_foods_in_it_that_nobody_credited() -> None:
    packet = {"name": "Sauce", "serving": {"grams": 100}, "facts": {}}
    dish = {"name": "Pasta", "ingredients": [{"food": packet, "grams": 50}, {"food": "pasta-cooked", "grams": 150}]}
    assert not_credited(checked([{"food": dish}])) == [["Sauce"]]


def test_milk_is_not_asked_of_a_child_who_must_not_have_it() -> None:
    """7 CFR 210.10(d)(2)(ii), table 2: a cup of a substitute holds 276 mg of calcium and 2.5 µg of vitamin D."""
    lunch = [{"food": "apple"}]
    assert components(checked(lunch))["milk"] == "short"
    (row,) = [one for one in checked(lunch, avoids=[{"allergen": "milk"}])["findings"] if one["id"] == "milk"]
    assert (row["status"], row["counts"], row["code"]) == ("not_applicable", False, "finding.avoided")
    assert row["params"]["look_at"] == ["calcium", "vitamin D"]
    assert "276 mg of calcium" in row["sentence"]
    assert components(checked(lunch, avoids=[{"allergen": "egg"}]))["milk"] == "short"


def test_a_right_lunch_exists_for_a_child_who_avoids_milk() -> None:
    lunch: list[dict[str, Any]] = [
        {"food": "chicken-breast-roasted"},
        {"food": "rice-brown-cooked"},
        {"food": "orange"},
        {"food": "broccoli-cooked", "quantity": 150, "unit": "g"},
    ]
    found = components(checked(lunch, avoids=[{"allergen": "milk"}]))
    assert found == {**dict.fromkeys(COMPONENTS - {"milk"}, "met"), "milk": "not_applicable"}


def test_child_care_asks_the_same_of_a_milk_substitute() -> None:
    """California's page on milk substitutes in child care: 276 mg of calcium, 8 g of protein, 100 IU (2.5 µg) of vitamin D."""
    asked = {
        "standard": "us-child-care-lunch",
        "on": "2026-12-01",
        "child": {"age_years": 4, "avoids": [{"allergen": "milk"}]},
        "lunch": {"items": [{"food": "apple"}]},
    }
    reply = check_lunch(LunchCheckRequest.model_validate(asked))
    (row,) = [one for one in reply["findings"] if one["id"] == "milk"]
    assert row["status"] == "not_applicable"
    assert all(need in row["sentence"] for need in ("276 mg of calcium", "8 g of protein", "2.5 µg of vitamin D"))


def test_what_cannot_be_told_says_how_to_tell_and_is_settled_by_it() -> None:
    """A packet with one figure: what is open names it and what to enter; with its facts and what it is like nothing is open."""
    facts = {
        "energy_kcal": 130,
        "fat_g": 4,
        "saturated_fat_g": 1,
        "sodium_mg": 95,
        "carbohydrate_g": 21,
        "protein_g": 3,
    }
    packet = {"name": "Oat bites", "serving": {"grams": 28}, "facts": {"energy_kcal": 130}}
    rest: list[dict[str, Any]] = [{"food": "bread-whole-wheat"}, {"food": "orange"}, {"food": "carrots-raw"}]

    def unknown(food: dict[str, Any]) -> list[dict[str, Any]]:
        return [row for row in checked([{"food": food}, *rest])["findings"] if row["status"] == "unknown"]

    for row in unknown(packet):
        assert "Oat bites" in row["sentence"]
        assert "enter the figure" in row["sentence"]
    assert {row["id"] for row in unknown(packet)} >= {"sodium"}
    assert unknown(packet | {"facts": facts, "counts_as": "bread"}) == []
