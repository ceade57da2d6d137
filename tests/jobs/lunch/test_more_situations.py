"""Thirty more lunches, five standards, children of 1 to 17: written down before the answers were seen. What is sensible is
our judgement.
"""

import pytest

from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.requests import OfferAuditRequest
from service.jobs.weeks.requests import WeekRequest
from service.jobs.weeks.sum_up_week import sum_up_week
from service.reference.foods.catalogue import find_food
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.foods.suggesting import suggesting
from tests.jobs.lunch.test_situations import (
    CARE,
    COLD,
    GRAIN,
    JAPAN,
    SCHOOL,
    SCOTLAND,
    Situation,
    Wanted,
    brings,
    cuts,
    reads,
)

ENGLAND = "gb-eng-lunch-box-guideline"
MILK = "milk-1-percent"
PROTEIN = ("meats", "cheese", "eggs", "fish", "beans-and-soy", "nut-and-seed-butters")
PLANTS = ("fruit", "vegetables")


def swaps(food: str, *parts: str) -> Wanted:
    """Another food, of one of these parts of a lunch, takes its place."""

    def wanted(one: dict[str, object]) -> bool:
        if one["kind"] != "swap" or one["instead_of"] != food:
            return False
        came = find_food(str(one["food"]))
        part = suggesting().part_of(came) if came else None
        return part is not None and part.id in parts

    return wanted


SITUATIONS = [
    # What must not be packed: something like it takes its place, and the label that is still to be read is named.
    Situation("peanut butter sandwich alone, avoids peanut", 8, ["sandwich-peanut-butter"], swaps("sandwich-peanut-butter", "sandwich"), ("peanut",)),
    Situation("ham sandwich, coeliac disease", 10, ["sandwich-ham", "banana", MILK], swaps("sandwich-ham", "dish", "sandwich"), ("coeliac disease",)),
    Situation("cheese sandwich and yogurt, avoids milk", 9, ["sandwich-cheese", "apple", "yogurt-plain-low-fat"], swaps("sandwich-cheese", "sandwich"), ("milk",)),
    Situation("egg sandwich, avoids egg", 12, ["sandwich-egg-salad", "carrots-raw", MILK], swaps("sandwich-egg-salad", "sandwich"), ("egg",)),
    Situation("tofu and rice, avoids soy", 9, ["tofu-firm", "rice-white-cooked", "clementine"], swaps("tofu-firm", "protein"), ("soy",)),
    Situation("cheese on bread not read for milk, avoids milk", 8, ["bread-whole-wheat", "cheese-cheddar", "apple"], swaps("cheese-cheddar", "protein"), ("milk",)),
    Situation("tuna salad, avoids fish, England", 9, ["tuna-salad", "bread-white", "apple"], swaps("tuna-salad", "protein"), ("fish",), ENGLAND),
    Situation("quiche, avoids egg and milk, Scotland", 9, ["quiche-cheese", "cherry-tomatoes", "water"], swaps("quiche-cheese", "protein"), ("egg", "milk"), SCOTLAND),
    Situation("milk with noodle soup, avoids milk, Japan", 12, ["noodle-soup-ramen", "milk-whole"], swaps("milk-whole", "milk"), ("milk",), JAPAN),
    Situation("whole grapes at 2", 2, ["sandwich-cheese", ("grapes", "whole"), MILK], cuts("grapes"), standard=CARE),
    Situation("raw carrot at 3", 3, ["pasta-tomato-chickpea", ("carrots-raw", "whole"), MILK], cuts("carrots-raw"), standard=CARE),
    Situation("whole tomatoes and popcorn at 4", 4, ["wrap-hummus-vegetable", ("cherry-tomatoes", "whole"), "popcorn-air-popped"], cuts("cherry-tomatoes"), standard=CARE),
    # Labels to read.
    Situation("hot dog not read for sesame", 8, ["hot-dog-in-bun", "apple", MILK], reads("hot-dog-in-bun"), ("sesame",)),
    # Something is missing.
    Situation("no vegetable at 6", 6, ["sandwich-turkey-cheese", "apple", MILK], brings("vegetables")),
    Situation("cheese and crackers, no vegetable", 8, ["cheese-and-crackers", "grapes", MILK], brings("vegetables")),
    Situation("cheeseburger at 16, no vegetable", 16, ["cheeseburger", "apple", MILK], brings("vegetables")),
    Situation("hummus alone", 8, ["hummus"], brings("breads", "crackers", "vegetables")),
    Situation("bread and jam", 8, [("bread-white", 2, "slice"), "jam"], brings(*PROTEIN, *PLANTS, "milk", "yogurt")),
    Situation("apple and yogurt at 15", 15, ["apple", "yogurt-plain-low-fat"], brings("recipe")),
    Situation("fruit and water at 13", 13, ["banana", "grapes", "water"], brings("recipe")),
    Situation("salad alone at 10", 10, ["lettuce-romaine", "cherry-tomatoes", "cucumber"], brings(*PROTEIN, *GRAIN)),
    Situation("vegetable burger, which a vegetarian has", 9, ["veggie-burger", "apple"], brings("breads", "crackers", *PLANTS, "milk")),
    Situation("tomato soup alone at 12", 12, ["soup-tomato"], brings("breads", "crackers", *PROTEIN)),
    Situation("almond butter with an apple", 8, ["apple", "almond-butter", MILK], brings("breads", "crackers")),
    Situation("celery, peanut butter, raisins", 8, ["celery-raw", "peanut-butter-smooth", "raisins", MILK], brings("breads", "crackers")),
    Situation("toast and banana at 1", 1, ["bread-whole-wheat", "banana", "milk-whole"], brings(*PROTEIN, "vegetables"), standard=CARE),
    Situation("bread alone at 5", 5, ["bread-whole-wheat"], brings(*PROTEIN, *PLANTS, "milk"), standard=CARE),
    Situation("rice ball and omelette, Japan", 7, ["onigiri", "tamagoyaki"], brings(*PLANTS, "milk"), standard=JAPAN),
    Situation("cheese sandwich and water, Scotland", 7, ["sandwich-cheese", "water"], brings(*PLANTS), standard=SCOTLAND),
    # Sweets, snacks and sweet drinks go before good food does.
    Situation("sausage roll, crisps and punch, Scotland", 8, ["sausage-roll", "potato-chips", "fruit-punch-drink"], swaps("fruit-punch-drink", "drink", "milk"), standard=SCOTLAND),
    Situation("ham sandwich, crisps, brownie and lemonade, England", 8, ["sandwich-ham", "potato-chips", "brownie", "lemonade"],
              lambda one: any(swaps(food, "fruit", "vegetables", "yogurt", "drink", "milk")(one) for food in ("potato-chips", "brownie", "lemonade")), standard=ENGLAND),
    Situation("ham sandwich, crisps and lemonade at 13, Scotland", 13, ["sandwich-ham", "potato-chips", "lemonade", "apple"],
              lambda one: any(swaps(food, "fruit", "vegetables", "yogurt", "drink", "milk")(one) for food in ("potato-chips", "lemonade")), standard=SCOTLAND),
    Situation("sandwich, soup and pretzels", 7, ["sandwich-ham-cheese", "pretzels", "soup-vegetable"], swaps("pretzels", "fruit", "vegetables", "yogurt")),
]  # fmt: skip


@pytest.mark.parametrize("situation", SITUATIONS, ids=lambda one: one.name)
def test_the_first_suggestion_is_what_a_parent_would_do(situation: Situation) -> None:
    first, *_others = situation.reply()["changes"]
    assert situation.wanted is not None
    assert situation.wanted(first), first["sentence"]


def test_what_comes_in_unread_says_what_to_read() -> None:
    """Bread and cheese are usually without peanut, but nobody read their packets."""
    found = Situation("", 8, ["sandwich-peanut-butter"], None, ("peanut",)).reply()["changes"]
    assert found
    for one in found:
        assert "Read the label of" in one["sentence"]
        assert one["sentence"].endswith("it must not name peanut.")


def test_each_of_two_dangers_has_its_way_out() -> None:
    found = Situation("", 9, ["sandwich-cheese", "apple", "yogurt-plain-low-fat"], None, ("milk",)).reply()["changes"]
    assert {one["instead_of"] for one in found} == {"sandwich-cheese", "yogurt-plain-low-fat"}


def test_an_older_child_may_have_a_second_sandwich_and_a_younger_one_not() -> None:
    lists, sandwich = suggesting(), find_food("sandwich-cheese")
    assert sandwich is not None
    assert 2 in list(lists.other_quantities(sandwich, 1, "sandwich", 15 * 12))
    assert max(lists.other_quantities(sandwich, 1, "sandwich", 8 * 12)) < 1


WEEKS = [
    ("peanut butter sandwiches, avoids peanut", SCHOOL, ["sandwich-peanut-butter"], ("peanut",), {"sandwich-peanut-butter"}),
    ("crisps and lemonade every day", SCHOOL, ["sandwich-cheese", "potato-chips", "lemonade", "apple"], (), {"potato-chips", "lemonade"}),
    ("sausage rolls, crisps and punch, Scotland", SCOTLAND, ["sausage-roll", "potato-chips", "fruit-punch-drink"], (), {"potato-chips", "fruit-punch-drink"}),
]  # fmt: skip


@pytest.mark.parametrize(("name", "standard", "foods", "avoids", "goes"), WEEKS, ids=[week[0] for week in WEEKS])
def test_the_first_change_to_a_week_swaps_what_should_not_be_there(
    name: str, standard: str, foods: list[str], avoids: tuple[str, ...], goes: set[str]
) -> None:
    days = ["2026-11-30", "2026-12-01", "2026-12-02", "2026-12-03", "2026-12-04"]
    request = {
        "standard": standard,
        "week": "2026-W49",
        "child": {"age_years": 9, "avoids": [{"allergen": one} for one in avoids]},
        "days": [{"date": day, "kind": "packed", "items": [{"food": one} for one in foods]} for day in days],
    }
    first, *_others = sum_up_week(WeekRequest.model_validate(request))["changes"]
    assert first["kind"] == "swap", name
    assert first["instead_of"] in goes, first["sentence"]
    part = suggesting().part_of(find_food(first["food"]))  # type: ignore[arg-type]
    assert part is not None
    assert part.id in ("sandwich", "fruit", "vegetables", "yogurt", "milk", "drink"), first["sentence"]
    assert ("Read the label of" in first["sentence"]) == bool(avoids)


def audited(*groups: tuple[str, list[str]], years: int = 10) -> dict[str, object]:
    """The reply for a child whose offer takes one food from each group."""
    offer = {"groups": [{"id": name, "items": [{"food": one} for one in foods]} for name, foods in groups]}
    child = {"age_years": years, "standard": SCHOOL}
    request = {"on": "2026-12-01", "offer": offer, "children": [child], "holding": COLD, "examples": 0}
    (reply,) = audit_offer(OfferAuditRequest.model_validate(request))["children"]
    return dict(reply)


def test_an_offer_gets_whole_clementines_and_never_two_mains() -> None:
    reply = audited(
        ("mains", ["sandwich-turkey-cheese", "wrap-bean-cheese"]), ("fruit", ["clementine", "apple"]),
        ("vegetables", ["carrots-raw", "cucumber"]), ("drinks", [MILK]),
    )  # fmt: skip
    made = [change for row in reply["changes"] for change in row["changes"]]  # type: ignore[attr-defined]
    assert made
    for change in made:
        assert not (change["kind"] in ("take", "with") and change["group"] in ("mains", "drinks")), change["sentence"]
        if change["kind"] == "portion" and change["food"] == "clementine":
            assert change["quantity"] == 2, change["sentence"]


def test_an_offer_without_vegetables_says_what_no_lunch_keeps() -> None:
    """Nothing can be swapped for them where there is no group of them."""
    reply = audited(("mains", ["sandwich-turkey-cheese"]), ("fruit", ["apple", "banana"]), ("drinks", [MILK]), years=8)
    assert reply["changes"] == []
    assert "vegetables" in str(reply["changes_note"])
    assert "a group of its own" in str(reply["changes_note"])


def test_an_offer_too_large_for_changes_says_what_to_do() -> None:
    """Five groups of eight, one or two of each: 36 ways to the fifth power are 60,466,176 lunches."""
    foods = [food for food, row in lunch_foods().rows().items() if row["category"] in ("fruit", "vegetables")]
    groups = [
        {
            "id": f"{one}",
            "items": [{"food": food} for food in foods[8 * one : 8 * one + 8]],
            "take": {"at_least": 1, "at_most": 2},
        }
        for one in range(5)
    ]
    request = {
        "on": "2026-12-01",
        "offer": {"groups": groups},
        "children": [{"age_years": 8, "standard": SCHOOL}],
        "holding": COLD,
        "examples": 0,
    }
    (reply,) = audit_offer(OfferAuditRequest.model_validate(request))["children"]
    assert (reply["total"], reply["changes"]) == (36**5, [])
    assert "Leave items out of the largest groups" in reply["changes_note"]
