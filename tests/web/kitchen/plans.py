"""Stored plans of a small invented household, whose days and batches were decided: nothing is searched for."""

from datetime import date, timedelta
from typing import Any

from tests.web.kitchens import Browser, Kitchen

SALAD, SANDWICH = "fruit salad", "sandwich-peanut-butter"
PORTIONS = 6


def day(on: date, days: int) -> str:
    """A day counted from another."""
    return (on + timedelta(days)).isoformat()


def planned(kitchen: Kitchen, on: date, name: str = "our week", batches: float = 1, **more: Any) -> str:
    """A plan for tomorrow and the two days after, with a batch of fruit salad and of sandwiches made today; its id.

    Ash eats of all of it; Birch must not have peanuts and takes no sandwich. ``batches``: of each dish. ``more``: other fields of what is asked.
    """
    if SALAD not in kitchen.children:
        child = {"standard": "us-school-lunch", "age_group": "grades-k-5"}
        kitchen.children["Ash"] = kitchen.keep("children", {**child, "nickname": "Ash"})
        avoids = {"avoids": [{"allergen": "peanut"}]}
        kitchen.children["Birch"] = kitchen.keep("children", {**child, "nickname": "Birch", **avoids})
        ingredients = [{"food": "apple", "grams": 300, "form": "thin_slice"}, {"food": "clementine", "grams": 150}]
        kitchen.children[SALAD] = kitchen.keep(
            "recipes",
            {"name": SALAD, "ingredients": ingredients, "portions": 4, "freezes": "well", "keeps": "fruit-cut"},
        )
        price = {"what": "food", "food": "milk-1-percent", "amount_minor": 379, "currency": "USD", "pack_grams": 3785}
        kitchen.keep("prices", {**price, "from": day(on, -30)})
    salad = kitchen.children[SALAD]
    groups = [
        {"id": "main", "items": [{"food": SANDWICH}, {"food": "egg-hard-boiled"}]},
        {"id": "fruit", "items": [{"food": salad, "quantity": 1, "unit": "portion"}, {"food": "pear"}]},
        {"id": "drink", "items": [{"food": "milk-1-percent", "quantity": 1, "unit": "cup"}]},
    ]
    days = [day(on, one) for one in (1, 2, 3)]
    asked = {
        "days": days,
        "prep_days": [day(on, 0)],
        "offers": [{"id": "mornings", "offer": {"groups": groups}}],
        "children": [kitchen.children["Ash"], kitchen.children["Birch"]],
        "dishes": [
            {"food": salad, "batch_portions": PORTIONS, "fridge_days": 2, "freezer_days": 60, "minutes": 25},
            {"food": SANDWICH, "batch_portions": PORTIONS, "fridge_days": 3},
        ],
        **more,
    }
    made = [{"food": food, "made_on": day(on, 0), "batches": batches} for food in (salad, SANDWICH)]
    decided = {"days": [{"day": one, "offer": "mornings"} for one in asked["days"]], "batches": made}
    return kitchen.keep("plans", {"name": name, "asked": asked, "decisions": decided})


def stock_of(browser: Browser) -> list[dict[str, Any]]:
    """All of which there is anything in the stock."""
    return [one for one in browser.client.get("/v1/stock").json()["items"] if one["grams"] > 0]
