"""A household as the tests ask it: a service with a store of its own, and keys with each of the rights."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

from starlette.testclient import TestClient

from service.store.access.households import create_household, create_key
from service.store.database import Store

PATCH_TYPE = "application/merge-patch+json"
FHIR_TYPE = "application/fhir+json"
COLLECTIONS = (
    "children",
    "foods",
    "packets",
    "recipes",
    "offers",
    "prices",
    "lunches",
    "school-days",
    "stock",
    "plans",
)


def today(days: int = 0) -> str:
    """Today in UTC, so many days on."""
    return (datetime.now(UTC).date() + timedelta(days=days)).isoformat()


@dataclass(frozen=True)
class Home:
    """A household and the secrets of its keys."""

    service: TestClient
    id: UUID
    keep: str
    pack: str
    read: str

    def ask(self, method: str, path: str, body: Any = None, *, key: str | None = None, **headers: str) -> Any:
        """Ask with the key that may keep everything, or another; ``if_match='"1"'`` becomes If-Match."""
        named = {name.replace("_", "-").title(): value for name, value in headers.items()}
        named["Authorization"] = f"Bearer {key or self.keep}"
        content = None
        if body is not None:
            whole = FHIR_TYPE if path.endswith("/avoids") else "application/json"
            named.setdefault("Content-Type", PATCH_TYPE if method == "PATCH" else whole)
            content = body if isinstance(body, bytes) else json.dumps(body)
        return self.service.request(method, path, content=content, headers=named)

    def kept(self, path: str, body: Any) -> str:
        """Keep something; its id."""
        answer = self.ask("POST", path, body)
        assert answer.status_code == 201, answer.text
        told = answer.json()
        return str(told.get("lunch", told)["id"])

    def fill(self, mark: str = "") -> dict[str, str]:
        """Keep one of each kind; collection -> id."""
        made: dict[str, str] = {}
        for collection in COLLECTIONS:
            made[collection] = self.keep_one(collection, made, mark)
        return made

    def keep_one(self, collection: str, of: Mapping[str, str], mark: str = "", on: str | None = None) -> str:
        """Keep a record of a kind; its id. ``of``: collection -> id of what it speaks of; ``on``: its day, where it has one."""
        child, food, offer = (of.get(name, "") for name in ("children", "foods", "offers"))
        body = {
            "children": lambda: child_body(f"Juniper{mark}"),
            "foods": lambda: food_body(f"oat bar{mark}"),
            "packets": lambda: packet_body(food, on or "2026-11-03"),
            "recipes": lambda: recipe_body(food, f"crumble{mark}"),
            "offers": lambda: offer_body(food, f"mornings{mark}"),
            "prices": lambda: price_body(food, on or "2026-09-01"),
            "lunches": lambda: lunch_body(child, on or today(), food),
            "school-days": lambda: school_day_body(child, on or "2026-11-30"),
            "stock": lambda: stock_body("apple"),
            "plans": lambda: {"name": f"first weeks{mark}", **plan_body(child, offer)},
        }[collection]()
        return self.kept(f"/v1/{collection}", body)


def new_home(service: TestClient, store: Store) -> Home:
    """Another household in the store of a service."""
    with store.writing() as connection:
        household = create_household(connection, {})
        secrets = [create_key(connection, household, rights, rights)[1] for rights in ("keep", "pack", "read")]  # type: ignore[arg-type]
    return Home(service, household, *secrets)


def child_body(nickname: str = "Juniper", **more: Any) -> dict[str, Any]:
    """A child of eight that must not have peanuts."""
    return {
        "nickname": nickname,
        "standard": "us-school-lunch",
        "birth_month": "2018-03",
        "avoids": [{"allergen": "peanut"}],
        **more,
    }


def food_body(name: str = "oat bar", **more: Any) -> dict[str, Any]:
    """An own food without anything that the child avoids."""
    return {
        "name": name,
        "serving": {"name": "bar", "grams": 40},
        "facts": {"energy_kcal": 170, "sodium_mg": 75},
        "ingredients": "Oats, sugar, salt.",
        "perishable": False,
        **more,
    }


def packet_body(food: str, read_on: str = "2026-11-03") -> dict[str, Any]:
    """A packet of a food, read on a day."""
    return {"food": food, "read_on": read_on, "ingredients": "oats, sugar, salt"}


def recipe_body(food: str, name: str = "crumble") -> dict[str, Any]:
    """A recipe with an own food in it."""
    return {"name": name, "ingredients": [{"food": food, "grams": 60}, {"food": "apple", "grams": 200}], "portions": 2}


def offer_body(food: str, name: str = "mornings") -> dict[str, Any]:
    """An offer of an own food and fruit."""
    return {
        "name": name,
        "groups": [
            {"id": "fruit", "items": [{"food": "apple"}, {"food": "banana"}, {"food": "carrots-baby-raw"}]},
            {"id": "extra", "items": [{"food": food}]},
        ],
    }


def price_body(food: str, from_day: str = "2026-09-01") -> dict[str, Any]:
    """A pack of an own food."""
    return {
        "what": "food",
        "food": food,
        "amount_minor": 340,
        "currency": "USD",
        "pack_grams": 240,
        "from": from_day,
    }


def school_day_body(child: str, day: str = "2026-11-30", **more: Any) -> dict[str, Any]:
    """A day on which a child buys the school's meal."""
    return {"date": day, "menu": {"name": "pasta bake", "facts": {"energy_kcal": 610}}, "buys": [child], **more}


def stock_body(food: str, portions: float = 4, **more: Any) -> dict[str, Any]:
    """Portions of a food in the fridge, bought today."""
    made = {} if "made_on" in more else {"bought_on": today()}
    return {"food": food, "place": "fridge", "portions": portions, **made, **more}


def plan_body(child: str, offer: str, **more: Any) -> dict[str, Any]:
    """A plan of two days of an offer."""
    days = ["2026-11-30", "2026-12-01"]
    return {"days": days, "children": [child], "offers": [{"id": "mornings", "offer": offer}], **more}


def lunch_body(child: str, day: str, *foods: str, **more: Any) -> dict[str, Any]:
    """A packed lunch of foods in their usual portions."""
    return {
        "child": child,
        "date": day,
        "kind": "packed",
        "items": [{"food": food} for food in foods or ("apple", "milk-1-percent")],
        **more,
    }
