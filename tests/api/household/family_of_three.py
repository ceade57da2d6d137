"""An invented family of three children for two school weeks: what it cooks, what it has read, and what it sets out.

Fern, 4, avoids tree nuts and peanut, Alder, 7, is coeliac, Sorrel, 11, avoids nothing. No real family, no real products.
"""

from datetime import date, timedelta
from typing import Any

from tests.api.household.homes import Home

WEEKS = {"2026-W49": "2026-11-30", "2026-W50": "2026-12-07"}
"""Each ISO week and its Monday."""
READ_ON = "2026-11-28"

CHILDREN: dict[str, dict[str, Any]] = {
    "Fern": {
        "standard": "us-child-care-lunch",
        "birth_month": "2022-05",
        "avoids": [
            {"allergen": "tree nuts", "threshold": "may_contain"},
            {"allergen": "peanut", "threshold": "may_contain"},
        ],
    },
    "Alder": {"standard": "us-school-lunch", "birth_month": "2019-06", "avoids": [{"allergen": "coeliac disease"}]},
    "Sorrel": {"standard": "us-school-lunch", "birth_month": "2015-04"},
}

Part = tuple[str, float] | tuple[str, float, str]


def dish(name: str, portions: int, *parts: Part, change: float = 0) -> dict[str, Any]:
    """A home dish; each part: food, grams, and how it is cut where that matters. ``change``: percent of weight by water."""
    ingredients = [dict(zip(("food", "grams", "form"), part, strict=False)) for part in parts]
    return {"name": name, "ingredients": ingredients, "portions": portions, "weight_change_percent": change}


CRUSHED_TOMATOES, RAW_EGG, RAW_ONION = "sr28-11693", "sr28-01123", "sr28-11282"
"""Foods of the generic tables."""

DISHES = {
    "2026-W49": [
        dish(
            "chili with beans", 6,
            (CRUSHED_TOMATOES, 800, "cooked_soft"), ("beans-kidney-canned", 480), ("beef-ground-cooked", 400, "ground"),
            (RAW_ONION, 150, "cooked_soft"), ("olive-oil", 15), change=-10,
        ),
        dish(
            "chicken and rice", 4,
            ("rice-white-cooked", 600), ("chicken-breast-roasted", 240, "thin_slice"), ("peas-green-cooked", 200), ("olive-oil", 15),
        ),
        dish(
            "lentil stew", 5,
            ("lentils-cooked", 500), ("carrots-cooked", 250), ("potato-boiled", 300), ("tomato", 200, "cooked_soft"),
            ("olive-oil", 15),
        ),
        dish(
            "egg and vegetable bake", 4,
            (RAW_EGG, 300, "cooked_soft"), ("milk-1-percent", 100), ("cheese-cheddar", 80, "grated"), ("broccoli-cooked", 200),
            ("potato-boiled", 200), change=-5,
        ),
    ],
    "2026-W50": [
        dish(
            "potato salad with egg", 4,
            ("potato-boiled", 600), ("egg-hard-boiled", 200, "chopped"), ("mayonnaise", 60), ("cucumber", 150, "thin_slice"),
        ),
        dish(
            "pasta with tomato and cheese", 4,
            ("pasta-cooked", 560), ("tomato-pasta-sauce", 400), ("cheese-cheddar", 170, "grated"),
        ),
        dish(
            "tuna and rice salad", 4,
            ("rice-white-cooked", 500), ("tuna-canned-in-water", 240, "mashed"), ("corn-cooked", 200), ("mayonnaise", 40),
        ),
        dish(
            "turkey and bean bowl", 4,
            ("beans-black-cooked", 400, "mashed"), ("turkey-breast-sliced", 200, "thin_slice"), ("rice-brown-cooked", 400),
            ("pepper-red-raw", 150, "matchstick"),
        ),
    ],
}  # fmt: skip
NOT_READ = "pasta-cooked"
"""The one packaged food of the two weeks whose packet nobody has read."""

PACKETS: dict[str, dict[str, str]] = {
    "cheese-cheddar": {"ingredients": "Milk, salt, cheese cultures, enzymes.", "contains": "Contains: milk."},
    "mayonnaise": {
        "ingredients": "Soybean oil, water, egg yolks, vinegar, salt, sugar.",
        "contains": "Contains: egg, soy.",
    },
    "tortilla-corn": {"ingredients": "Corn masa flour, water, lime."},
    CRUSHED_TOMATOES: {"ingredients": "Tomatoes, tomato juice, citric acid."},
    "beans-black-cooked": {"ingredients": "Black beans."},
    "beans-kidney-canned": {"ingredients": "Kidney beans, water, salt."},
    "lentils-cooked": {"ingredients": "Lentils."},
    "yogurt-plain-low-fat": {"ingredients": "Low fat milk, yogurt cultures.", "contains": "Contains: milk."},
    "tomato-pasta-sauce": {"ingredients": "Tomatoes, onions, olive oil, salt, garlic, basil."},
    "tuna-canned-in-water": {"ingredients": "Tuna, water, salt.", "contains": "Contains: fish (tuna)."},
    "turkey-breast-sliced": {"ingredients": "Turkey breast, water, salt, sugar, sodium phosphate."},
    "bread-whole-wheat": {
        "ingredients": "Whole wheat flour, water, yeast, sunflower oil, salt.",
        "contains": "Contains: wheat.",
    },
}
"""Twelve packets, each read once; none prints a warning."""

SET_OUT: dict[str, list[dict[str, Any]]] = {
    "vegetable": [
        {"food": "cucumber", "quantity": 100, "unit": "g", "form": "thin_slice"},
        {"food": "pepper-red-raw", "quantity": 100, "unit": "g", "form": "matchstick"},
        {"food": "carrots-cooked", "quantity": 120, "unit": "g"},
    ],
    "fruit": [{"food": "apple"}, {"food": "banana"}, {"food": "clementine", "quantity": 2}],
    "bread": [{"food": "bread-whole-wheat"}, {"food": "tortilla-corn", "quantity": 2}],
    "drink": [{"food": "milk-1-percent", "quantity": 1, "unit": "cup"}],
    "extra": [{"food": "yogurt-plain-low-fat"}, {"food": "cheese-cheddar", "form": "grated"}],
}
"""What goes beside the dish of the day, in both weeks."""
HOLDING = {"insulated": True, "cold_sources": 2, "minutes_until_eaten": 240}


class Family:
    """The family with everything stored; ids by name."""

    def __init__(self, home: Home) -> None:
        self.home = home
        self.children = {name: home.kept("/v1/children", {"nickname": name, **body}) for name, body in CHILDREN.items()}
        self.packets = {
            food: home.kept("/v1/packets", {"food": food, "read_on": READ_ON, "may_contain": "", **body})
            for food, body in PACKETS.items()
        }
        self.dishes = {
            week: {body["name"]: home.kept("/v1/recipes", body) for body in some} for week, some in DISHES.items()
        }
        self.offers = {week: home.kept("/v1/offers", self._offer(week)) for week in WEEKS}

    def _offer(self, week: str) -> dict[str, Any]:
        mains = [
            {"food": food, "quantity": 1, "unit": "portion", "key": name} for name, food in self.dishes[week].items()
        ]
        groups = [{"id": "main", "items": mains}, *({"id": name, "items": items} for name, items in SET_OUT.items())]
        return {"name": week, "groups": groups}

    def audit(self, week: str) -> dict[str, Any]:
        """The audit of a week's offer, each child's part by its nickname."""
        return {one["nickname"]: one for one in self.whole_audit(week)["children"]}

    def whole_audit(self, week: str) -> dict[str, Any]:
        """The audit of a week's offer for all three."""
        body = {
            "on": WEEKS[week],
            "offer": self.offers[week],
            "children": list(self.children.values()),
            "holding": HOLDING,
            "max_changes": 0,
        }
        answer = self.home.ask("POST", "/v1/offer-audits", body)
        assert answer.status_code == 200, answer.text
        return dict(answer.json())

    def to_read(self, week: str) -> list[dict[str, Any]]:
        """What the household is asked to read, on the Monday of a week."""
        answer = self.home.ask("GET", f"/v1/packets/to-read?on={WEEKS[week]}&offer={self.offers[week]}")
        assert answer.status_code == 200, answer.text
        return list(answer.json()["to_read"])

    def log(self, week: str, nickname: str, day: int, left_out: set[str]) -> dict[str, Any]:
        """Log a lunch of the offer, taking each group's items in turn; what was answered."""
        groups = [
            [
                {"food": food, "quantity": 1, "unit": "portion"}
                for name, food in self.dishes[week].items()
                if name not in left_out
            ],
            *([_cut(item, nickname) for item in items if item["food"] not in left_out] for items in SET_OUT.values()),
        ]
        body = {
            "child": self.children[nickname],
            "date": (date.fromisoformat(WEEKS[week]) + timedelta(day)).isoformat(),
            "kind": "packed",
            "items": [items[day % len(items)] for items in groups],
            "holding": HOLDING,
            "offer": self.offers[week],
        }
        answer = self.home.ask("POST", "/v1/lunches", body)
        assert answer.status_code == 201, answer.text
        return dict(answer.json())


def _cut(item: dict[str, Any], nickname: str) -> dict[str, Any]:
    """An apple is cut for the youngest, as the offer's card says."""
    return {**item, "form": "thin_slice"} if item["food"] == "apple" and nickname == "Fern" else item
