"""Finding an offer that cannot go wrong, against the audit of the offer that is found.

The families: three and eight children by the US standards, three by the Scottish one, one of whom must not have milk or peanut;
five groups with 60 or 200 foods to choose from, three to five of each group wanted, four amounts each. Time is that of the
processor in this process, since other programs share the machine. Goals: at most ten audits of the same offer for up to four
children and 100 foods, every lunch right or the rule in the way named; each week's target kept in 0.9 of all weeks.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from service.domain.foods.food import Food
from service.reference.foods.catalogue import packable_foods

ROUNDS = 3
AMOUNTS = (0.5, 1.5, 2.0)
KINDS: Mapping[str, tuple[str, ...]] = {
    "mains": ("recipe",),
    "fruit": ("fruit",),
    "vegetables": ("vegetables",),
    "extras": ("cheese", "yogurt", "grains", "crackers", "legumes", "eggs", "nuts-seeds", "dairy"),
    "drinks": ("milk", "plant-drinks"),
}
SIZES = {
    60: {"mains": 20, "fruit": 13, "vegetables": 13, "extras": 10, "drinks": 4},
    200: {"mains": 70, "fruit": 45, "vegetables": 45, "extras": 35, "drinks": 5},
}
HOLDING = {"insulated": True, "cold_sources": 2, "minutes_until_eaten": 240}
US = [
    ("Juniper", 8, []),
    ("Rowan", 12, [{"allergen": "peanut"}]),
    ("Linden", 15, []),
    ("Hazel", 6, []),
    ("Wren", 9, [{"allergen": "sesame"}]),
    ("Robin", 10, []),
    ("Jay", 13, []),
    ("Finch", 16, []),
]
"""Nickname, age and what each avoids."""


def foods_by_kind() -> dict[str, list[Food]]:
    """The lunch foods by group; everyday foods first."""
    found: dict[str, list[Food]] = {group: [] for group in KINDS}
    for food in sorted(packable_foods(), key=lambda one: not one.everyday):
        for group, kinds in KINDS.items():
            if food.category in kinds:
                found[group].append(food)
    return found


def family(children: Sequence[tuple[str, int, Any]], standard: str, foods: int, seconds: float = 5) -> dict[str, Any]:
    """The body of a design for so many foods."""
    by_kind = foods_by_kind()
    groups = []
    for group, most in SIZES[foods].items():
        items = [{"food": food.id, "quantities": list(AMOUNTS)} for food in by_kind[group][:most]]
        take = {"at_least": 0 if group == "extras" else 1, "at_most": 1}
        groups.append(
            {"id": group, "items": items, "take": take, "choices": 1 if group == "drinks" else 3, "most_choices": 5}
        )
    return {
        "on": "2026-12-01",
        "groups": groups,
        "children": [
            {"nickname": name, "age_years": age, "standard": standard, "avoids": avoids}
            for name, age, avoids in children
        ],
        "holding": HOLDING,
        "seconds": seconds,
    }


FAMILIES = {
    "US, 3 children, 60 foods": family(US[:3], "us-school-lunch", 60),
    "US, 3 children, 200 foods": family(US[:3], "us-school-lunch", 200),
    "US, 8 children, 60 foods": family(US, "us-school-lunch", 60),
    "Scotland, 3 children, 60 foods": family(US[:3], "gb-sct-school-lunch", 60),
}
WITHIN = ("US, 3 children, 60 foods", "US, 3 children, 200 foods", "Scotland, 3 children, 60 foods")
