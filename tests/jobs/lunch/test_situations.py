"""About forty lunches that a parent may meet, and what a sensible parent would do first. What is sensible is our judgement."""

from collections.abc import Callable
from typing import Any, NamedTuple

import pytest

from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckRequest
from service.reference.foods.catalogue import find_food

SCHOOL, CARE, SCOTLAND, JAPAN = "us-school-lunch", "us-child-care-lunch", "gb-sct-school-lunch", "jp-school-lunch"
COLD = {"insulated": True, "cold_sources": 2, "minutes_until_eaten": 240}
Change = dict[str, Any]
Wanted = Callable[[Change], bool]


class Situation(NamedTuple):
    """A lunch of a child, and what its first suggestion has to be; ``wanted`` is None where nothing is to be done.

    ``foods``: ids, or pairs with a form, or triples with an amount.
    """

    name: str
    years: int
    foods: list[Any]
    wanted: Wanted | None
    avoids: tuple[str, ...] = ()
    standard: str = SCHOOL
    offer: tuple[str, ...] = ()
    holding: dict[str, Any] = COLD

    def reply(self) -> dict[str, Any]:
        """The check of the lunch with five suggestions."""
        items = [
            {"food": one}
            if isinstance(one, str)
            else {"food": one[0], "form": one[1]}
            if len(one) == 2
            else {"food": one[0], "quantity": one[1], "unit": one[2]}
            for one in self.foods
        ]
        request = {
            "standard": self.standard,
            "on": "2026-12-01",
            "child": {"age_years": self.years, "avoids": [{"allergen": one} for one in self.avoids]},
            "lunch": {"items": items, "holding": self.holding},
            "offer": list(self.offer),
            "max_changes": 5,
        }
        return check_lunch(LunchCheckRequest.model_validate(request))


def removes(*foods: str) -> Wanted:
    """One of the foods is left out, or another takes its place."""
    return lambda one: one["kind"] in ("remove", "swap") and one["instead_of"] in foods


def cuts(food: str) -> Wanted:
    """The food is cut in another way."""
    return lambda one: one["kind"] == "form" and one["food"] == food


def reads(*foods: str) -> Wanted:
    """The label of one of the foods is read."""
    return lambda one: one["kind"] == "read" and one["instead_of"] in foods


def brings(*categories: str) -> Wanted:
    """A food of one of these categories comes in."""

    def wanted(one: Change) -> bool:
        food = find_food(one["food"]) if one["kind"] in ("add", "swap") else None
        return food is not None and food.category in categories

    return wanted


def less_of(food: str) -> Wanted:
    """The food is left out, or less of it is packed."""
    return lambda one: one["instead_of"] == food or (one["kind"] == "portion" and one["food"] == food)


def keeps_cold(one: Change) -> bool:
    """The lunch is kept cold."""
    return one["kind"] == "keep"


SANDWICH, MILK = "sandwich-turkey-cheese", "milk-1-percent"
PROTEIN = (
    "meats",
    "cheese",
    "eggs",
    "beans-and-soy",
    "nut-and-seed-butters",
    "fish",
    "yogurt",
    "recipe",
    "savoury-snacks",
)
GRAIN = ("breads", "grains", "crackers", "recipe")
PLANTS = ("fruit", "vegetables", "dried-fruit")
WEDGE = "bread-whole-wheat"

SITUATIONS = [
    # What must not be packed: the danger goes first.
    Situation("egg, avoids egg", 8, ["egg-hard-boiled", WEDGE, "apple", MILK], removes("egg-hard-boiled"), ("egg",)),
    Situation(
        "peanut butter sandwich, avoids peanut", 8, ["sandwich-peanut-butter-jam", "apple", MILK],
        removes("sandwich-peanut-butter-jam"), ("peanut",),
    ),
    Situation(
        "nothing but a peanut butter sandwich, avoids peanut", 8, ["sandwich-peanut-butter-jam"],
        lambda one: one["kind"] == "swap", ("peanut",),
    ),
    Situation("milk, avoids milk", 8, ["chicken-breast-roasted", "apple", MILK], removes(MILK), ("milk",)),
    Situation("tuna sandwich, avoids fish", 8, ["sandwich-tuna-salad", "apple", MILK], removes("sandwich-tuna-salad"), ("fish",)),
    Situation("hummus, avoids sesame", 8, ["hummus", "carrots-raw", "apple", MILK], removes("hummus"), ("sesame",)),
    Situation("trail mix, avoids tree nuts", 8, ["trail-mix", "apple", MILK], removes("trail-mix"), ("tree nuts",)),
    Situation("bread, coeliac disease", 8, [WEDGE, "turkey-breast-sliced", "apple"], removes(WEDGE), ("coeliac disease",)),
    Situation(
        "egg and peanuts, avoids both", 8, ["egg-hard-boiled", "peanuts-roasted", "apple"],
        removes("egg-hard-boiled", "peanuts-roasted"), ("egg", "peanut"),
    ),
    Situation(
        "egg beside bread not read for soy", 8, ["egg-hard-boiled", WEDGE, "apple"], removes("egg-hard-boiled"), ("egg", "soy")
    ),
    Situation(
        "whole grapes at 3", 3, ["crackers-whole-wheat", "cheese-cheddar", ("grapes", "whole"), MILK], cuts("grapes"), standard=CARE
    ),
    Situation(
        "whole cherry tomatoes at 4", 4, ["pasta-cooked", ("cherry-tomatoes", "whole"), MILK], cuts("cherry-tomatoes"), standard=CARE
    ),
    Situation("raw carrot sticks at 3", 3, [WEDGE, "carrots-raw", MILK, "banana"], cuts("carrots-raw"), standard=CARE),
    Situation("peanuts at 4", 4, ["peanuts-roasted", "banana", MILK], removes("peanuts-roasted"), standard=CARE),
    Situation("popcorn at 3", 3, ["sandwich-ham", "popcorn-air-popped", MILK], removes("popcorn-air-popped"), standard=CARE),
    # A label that was not read is read, and the food stays.
    Situation(
        "bread and cold cuts not read for soy", 8, [WEDGE, "turkey-breast-sliced", "apple", "carrots-raw", MILK],
        reads(WEDGE, "turkey-breast-sliced"), ("soy",),
    ),
    Situation(
        "crackers not read for sesame", 8, ["crackers-whole-wheat", "cheese-cheddar", "apple", "carrots-raw", MILK],
        reads("crackers-whole-wheat"), ("sesame",),
    ),
    Situation(
        "bread not read for milk", 8, [WEDGE, "chicken-breast-roasted", "apple", "carrots-raw"], reads(WEDGE), ("milk",)
    ),
    # Something is missing.
    Situation("no fruit", 8, [SANDWICH, ("carrots-raw", 100, "g"), MILK], brings("fruit", "dried-fruit")),
    Situation("no vegetable", 8, [SANDWICH, "apple", MILK], brings("vegetables")),
    Situation("no milk", 8, [SANDWICH, "apple", ("carrots-raw", 100, "g")], brings("milk")),
    Situation("no protein", 8, [WEDGE, "apple", ("carrots-raw", 100, "g"), MILK], brings(*PROTEIN)),
    Situation("no bread", 8, ["turkey-breast-roasted", "apple", ("carrots-raw", 100, "g"), MILK], brings(*GRAIN)),
    Situation("only an apple", 8, ["apple"], brings(*GRAIN, *PROTEIN)),
    Situation("bread with jam", 8, ["bread-white", "jam"], brings(*PROTEIN, *PLANTS, "milk")),
    Situation("a flask of chili with rice", 8, ["chili-rice-flask", MILK, "apple"], brings("vegetables")),
    Situation("hummus with nothing to dip", 8, ["hummus", "apple", MILK], brings(*GRAIN, "vegetables")),
    Situation("pasta and tuna at 4, no fruit", 4, ["pasta-cooked", "tuna-canned-in-water", "peas-green-cooked", MILK], brings("fruit", "dried-fruit"), standard=CARE),
    Situation("cheese and crackers at 2", 2, ["crackers-whole-wheat", "cheese-cheddar", "banana"], brings("milk", "vegetables", "soups"), standard=CARE),
    Situation("a small lunch at 15", 15, ["sandwich-ham", "apple", MILK], brings(*PROTEIN, *PLANTS)),
    # Too much of something, or sweets.
    Situation("crisps and lemonade", 8, ["potato-chips", "lemonade"], brings(*PROTEIN, *GRAIN, *PLANTS)),
    Situation("sandwich, crisps, biscuit", 8, ["sandwich-ham", "potato-chips", "cookie-chocolate-chip", MILK], brings(*PLANTS)),
    Situation(
        "a good lunch with 100 g of gum drops", 8, [SANDWICH, "apple", ("carrots-raw", 100, "g"), MILK, ("gum-drops", 100, "g")],
        less_of("gum-drops"),
    ),
    Situation(
        "yogurt above its limit of sugar", 8, [WEDGE, "apple", "carrots-raw", MILK, "yogurt-fruit-low-fat"],
        lambda one: one["kind"] == "swap" and one["instead_of"] == "yogurt-fruit-low-fat" and brings("yogurt")(one),
    ),
    Situation("six nectarines", 8, [("nectarine", 6, "nectarine"), WEDGE, MILK], lambda one: brings(*PROTEIN)(one) or less_of("nectarine")(one)),
    Situation("muffin and juice", 8, ["muffin-blueberry", "orange-juice"], brings(*PROTEIN)),
    Situation("two cups of milk", 8, [("milk-1-percent", 2, "cup"), "sandwich-ham", "apple"], brings("vegetables")),
    Situation("sausage roll, crisps and punch, Scotland", 8, ["sausage-roll", "potato-chips", "fruit-punch-drink"],
              lambda one: brings(*PLANTS, *PROTEIN)(one) or removes("potato-chips", "fruit-punch-drink")(one), standard=SCOTLAND),
    # How it is kept, and what is at hand.
    Situation("no cold packs", 8, [SANDWICH, "apple", "carrots-raw", MILK], keeps_cold, holding={"insulated": False, "minutes_until_eaten": 300}),
    Situation("sweets and carrots at hand", 8, ["sandwich-ham", "apple", MILK], brings("vegetables"), offer=("gum-drops", "brownie", "carrots-raw")),
    Situation("only sweets at hand", 8, ["sandwich-ham", "apple", MILK], None, offer=("gum-drops", "brownie")),
    # Nothing to be done.
    Situation("a Japanese lunch", 8, ["rice-white-cooked", "salmon-cooked", "broccoli-cooked", "milk-whole"], None, standard=JAPAN),
    Situation("cheese and tomato sandwich, Scotland", 8, ["sandwich-cheese-tomato", "apple", "water"], None, standard=SCOTLAND),
]  # fmt: skip


@pytest.mark.parametrize("situation", SITUATIONS, ids=lambda one: one.name)
def test_the_first_suggestion_is_what_a_parent_would_do(situation: Situation) -> None:
    changes = situation.reply()["changes"]
    if situation.wanted is None:
        assert changes == []
        return
    first = changes[0]
    assert situation.wanted(first), first["sentence"]


def test_a_dish_is_settled_by_the_labels_of_its_ingredients() -> None:
    """A dish made at home has no label: those still to be read are named, and after the last of them nothing is asked."""
    asked: dict[str, Any] = {
        "standard": SCHOOL,
        "on": "2026-12-01",
        "child": {"age_years": 8, "avoids": [{"allergen": "peanut"}]},
        "lunch": {"items": [{"food": "pita-falafel"}, {"food": "orange"}], "holding": COLD},
        "packets": [],
    }

    def to_read() -> list[str]:
        changes = check_lunch(LunchCheckRequest.model_validate(asked))["changes"]
        return [name for one in changes if one["kind"] == "read" for name in one["params"]["names"]]

    dish = ["bread-pita-whole-wheat", "falafel", "tzatziki"]
    for place, food in enumerate(dish):
        assert to_read() == [found.name for one in dish[place:] if (found := find_food(one)) is not None]
        ticked = [{"allergen": "peanut", "level": "not_named"}]
        asked["packets"].append({"food": food, "read_on": "2026-11-28", "allergens": ticked})
    assert to_read() == []
