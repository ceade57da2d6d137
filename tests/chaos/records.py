"""What a writer sends and what it was told: each record with the version and the fields that were acknowledged."""

import random
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from tests.api.household.homes import (
    child_body,
    food_body,
    lunch_body,
    offer_body,
    packet_body,
    price_body,
    recipe_body,
    school_day_body,
)

COLLECTIONS = ("lunches",) * 6 + ("stock",) * 3 + ("packets", "offers", "prices", "recipes", "foods", "school-days")
"""How often each is written."""
LUNCH_DAYS = 150
"""Days before today that lunches are logged for."""


@dataclass
class Known:
    """A record that was acknowledged. ``sent``: its fields as they were sent last."""

    collection: str
    id: str
    tag: str
    sent: dict[str, Any]

    @property
    def path(self) -> str:
        """Its address."""
        return f"/v1/{self.collection}/{self.id}"

    @property
    def version(self) -> int:
        """Its version, which is in its tag."""
        return int(self.tag.strip('"'))


@dataclass
class Bodies:
    """Makes bodies that nobody else sends. ``number``: of the writer, of so many; ``child`` and ``food``: what they speak of."""

    number: int
    of: int
    today: date
    child: str = ""
    food: str = ""
    made: int = 0
    free_days: dict[str, list[date]] = field(default_factory=dict)

    def new_child(self) -> dict[str, Any]:
        """Another child, whose days are all free."""
        self.made += 1
        return child_body(f"child {self.number}-{self.made}")

    def of_child(self, child: str) -> None:
        """Log lunches for this child from now on."""
        self.child = child
        self.free_days["lunches"] = [self.today - timedelta(day) for day in range(1, LUNCH_DAYS)]

    def make(self, collection: str) -> dict[str, Any] | None:
        """The body of a new record; None where every day is taken."""
        self.made += 1
        mark = f" {self.number}-{self.made}"
        if collection in ("lunches", "school-days", "prices"):
            days = self.free_days.setdefault(collection, self._own_days())
            if not days:
                return None
            return self.on(collection, days.pop().isoformat())
        if collection == "stock":
            portions = 1 + self.made % 7
            return {
                "food": "pear",
                "place": "fridge",
                "portions": portions,
                "bought_on": self._day(2),
                "note": f"box{mark}",
            }
        if collection == "packets":
            return packet_body(self.food, self._day(1 + self.made)) | {"ingredients": f"oats, sugar, salt{mark}"}
        if collection == "offers":
            return offer_body(self.food, f"mornings{mark}")
        if collection == "recipes":
            return recipe_body(self.food, f"crumble{mark}")
        return food_body(f"oat bar{mark}")

    def on(self, collection: str, day: str) -> dict[str, Any]:
        """A record of a day, with an amount that tells it from others."""
        if collection == "lunches":
            apple = {"food": "apple", "quantity": 1 + self.made / 8, "unit": "g"}
            return lunch_body(self.child, day) | {
                "items": [apple, {"food": "milk-1-percent", "quantity": 2.5, "unit": "g"}]
            }
        if collection == "prices":
            return price_body(self.food, day) | {"amount_minor": 100 + self.made}
        menu = {"name": f"pasta bake {self.number}-{self.made}", "facts": {"energy_kcal": 610}}
        return school_day_body(self.child, day) | {"buys": [], "menu": menu}

    def changed(self, known: Known, draw: random.Random) -> dict[str, Any]:
        """The same record with something else in it."""
        self.made += 1
        mark = f" {self.number}-{self.made}"
        sent = dict(known.sent)
        if known.collection == "lunches":
            sent["items"] = [{"food": "apple", "quantity": 1 + self.made / 8, "unit": "g"}, *sent["items"][1:]]
        elif known.collection == "prices":
            sent["amount_minor"] = 100 + self.made
        elif known.collection == "school-days":
            sent["menu"] = {**sent["menu"], "name": f"pasta bake{mark}"}
        elif known.collection == "stock":
            sent["note"] = f"box{mark}"
        elif known.collection == "packets":
            sent["ingredients"] = f"oats, sugar, salt{mark}" + draw.choice(("", ", honey"))
        elif known.collection == "children":
            sent["nickname"] = f"child{mark}"
        else:
            sent["name"] = f"{sent['name'].split()[0]}{mark}"
        return sent

    def _own_days(self) -> list[date]:
        """Days of this writer alone: there is one school day a day, and one price of a food from a day on."""
        return [self.today - timedelta(1 + self.number + self.of * step) for step in range(50)]

    def _day(self, before: int) -> str:
        return (self.today - timedelta(before)).isoformat()


def holds(sent: Any, there: Any) -> bool:
    """Whether all that was sent is there as it was sent; the service may have added to it."""
    if isinstance(sent, Mapping):
        return isinstance(there, Mapping) and all(
            name in there and holds(one, there[name]) for name, one in sent.items()
        )
    if isinstance(sent, list):
        return isinstance(there, list) and len(sent) == len(there) and all(map(holds, sent, there))
    return bool(sent == there)
