"""The household that the examples speak of: made anew for every example, with ids and moments that are always the same.

The store is filled once through the API itself and copied; while an example is asked, new ids are counted up and the
clock stands still, so that its reply is the same on every machine and day.
"""

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, tzinfo
from functools import lru_cache
from itertools import count
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from unittest import mock
from uuid import UUID

from starlette.testclient import TestClient

from service.jobs.household.access.access_keys import make_first_key
from service.store.migrate import open_store
from tests.api.clients import client

SECRET = "example-secret-of-43-characters-0123456789a"  # noqa: S105 - of no household that is
SHOWN_ONCE = "shown-once-and-nowhere-kept-0123456789-abcd"
SUNDAY = datetime(2026, 11, 29, 18, 0, tzinfo=UTC)
NEW_FROM = 100
"""Numbers of ids made by an example; below are those of the household."""


def id_of(number: int) -> str:
    """The id with a number."""
    return f"01900000-0000-7000-8000-{number:012d}"


CHILD, OTHER_CHILD, FOOD, RECIPE, OFFER, PRICE, MEAL_PRICE, LUNCH, READING_KEY = (id_of(n) for n in range(3, 12))


HOUSEHOLD: list[tuple[str, dict[str, Any]]] = [
    (
        "/v1/children",
        {
            "nickname": "Juniper",
            "standard": "us-school-lunch",
            "birth_month": "2018-03",
            "avoids": [{"allergen": "peanut"}],
            "dislikes": ["carrot"],
        },
    ),
    (
        "/v1/children",
        {"nickname": "Rowan", "standard": "us-school-lunch", "age_group": "grades-k-5", "bans": ["sesame"]},
    ),
    (
        "/v1/foods",
        {
            "name": "oat bar",
            "serving": {"name": "bar", "grams": 40},
            "facts": {"energy_kcal": 170, "protein_g": 3, "fat_g": 6, "saturated_fat_g": 1, "sodium_mg": 75},
            "ingredients": "Oats, sunflower oil, sugar, salt.",
            "perishable": False,
        },
    ),
    (
        "/v1/recipes",
        {
            "name": "apple and oat crumble",
            "ingredients": [{"food": "apple", "grams": 400}, {"food": id_of(5), "grams": 120}],
            "portions": 4,
        },
    ),
    (
        "/v1/offers",
        {
            "name": "school mornings",
            "groups": [
                {"id": "main", "items": [{"food": "bread-whole-wheat", "quantity": 2, "unit": "slice"}]},
                {"id": "fruit", "items": [{"food": "apple"}, {"food": "banana"}]},
                {"id": "extra", "items": [{"food": id_of(5)}, {"food": "carrots-baby-raw", "form": "strip"}]},
            ],
        },
    ),
    (
        "/v1/prices",
        {
            "what": "food",
            "food": id_of(5),
            "amount_minor": 340,
            "currency": "USD",
            "pack_grams": 240,
            "from": "2026-09-01",
        },
    ),
    ("/v1/prices", {"what": "school_meal", "amount_minor": 310, "currency": "USD", "from": "2026-09-01"}),
    (
        "/v1/lunches",
        {
            "child": id_of(3),
            "date": "2026-11-30",
            "kind": "packed",
            "items": [{"food": id_of(5)}, {"food": "apple"}, {"food": "milk-1-percent", "quantity": 1, "unit": "cup"}],
            "holding": {"insulated": True, "cold_sources": 2, "minutes_until_eaten": 240},
            "uneaten": [{"item": 1, "share": 0.5}],
        },
    ),
    ("/v1/keys", {"name": "tablet in the hall", "rights": "read"}),
    (
        "/v1/foods",
        {
            "name": "rice cake, plain",
            "serving": {"name": "cake", "grams": 9},
            "facts": {"energy_kcal": 35, "protein_g": 1, "fat_g": 0, "saturated_fat_g": 0, "sodium_mg": 15},
            "ingredients": "Whole grain brown rice, salt.",
            "perishable": False,
        },
    ),
    (
        "/v1/packets",
        {
            "food": "hummus",
            "read_on": "2026-11-28",
            "ingredients": "Chickpeas, water, sesame paste, rapeseed oil, lemon juice, salt.",
            "contains": "Contains: sesame.",
            "may_contain": "May contain traces of nuts.",
        },
    ),
    (
        "/v1/school-days",
        {
            "date": "2026-12-02",
            "menu": {"name": "pasta bake with vegetables", "facts": {"energy_kcal": 610, "sodium_mg": 980}},
            "buys": [id_of(4)],
        },
    ),
    (
        "/v1/stock",
        {"food": "sandwich-ham", "place": "freezer", "portions": 4, "made_on": "2026-11-22", "note": "in the blue box"},
    ),
    ("/v1/stock", {"food": "chicken-breast-roasted", "place": "fridge", "portions": 3, "made_on": "2026-11-29"}),
    (
        "/v1/plans",
        {
            "name": "second week of December",
            "days": ["2026-12-07", "2026-12-08", "2026-12-09"],
            "prep_days": ["2026-12-06"],
            "offers": [
                {
                    "id": "mornings",
                    "offer": {
                        "groups": [
                            {"id": "main", "items": [{"food": "lentils-cooked"}, {"food": "egg-hard-boiled"}]},
                            {"id": "fruit", "items": [{"food": "apple"}, {"food": "banana"}]},
                        ]
                    },
                }
            ],
            "children": [id_of(3), id_of(4)],
        },
    ),
]
"""What the household keeps, in the order it is kept; the ids are counted up from 3 (1: the household, 2: its key)."""


class StandingClock(datetime):
    """The clock of the examples."""

    @classmethod
    def now(cls, tz: tzinfo | None = None) -> datetime:  # type: ignore[override]
        """Always the same Sunday evening."""
        return SUNDAY.astimezone(tz)


@contextmanager
def fixed(first: int, secret: str) -> Iterator[None]:
    """Ids are counted up from a number, the clock stands still, secrets are no secrets."""
    numbers = count(first)
    with (
        mock.patch("service.store.household.records.uuid7", side_effect=(UUID(id_of(number)) for number in numbers)),
        mock.patch("service.store.household.records.datetime", StandingClock),
        mock.patch("service.store.access.households.secrets", SimpleNamespace(token_urlsafe=lambda _size: secret)),
    ):
        yield


@lru_cache(maxsize=1)
def example_file() -> Path:
    """The file of the household, to be copied: nothing is written to it again."""
    folder = tempfile.TemporaryDirectory(prefix="packed-lunch-examples-")
    _KEPT.append(folder)
    file = Path(folder.name) / "store.sqlite3"
    with fixed(1, SECRET):
        store = open_store(f"sqlite:///{file}")
        make_first_key(store)
        store.close()
    with fixed(3, SECRET[::-1]), client(database_url=f"sqlite:///{file}") as service:
        for path, body in HOUSEHOLD:
            answer = service.post(path, json=body, headers={"Authorization": f"Bearer {SECRET}"})
            assert answer.status_code == 201, answer.text
    return file


_KEPT: list["tempfile.TemporaryDirectory[str]"] = []


@contextmanager
def example_household() -> Iterator[tuple[TestClient, dict[str, str]]]:
    """A client of a service with a copy of the household, and the header with its key."""
    with tempfile.TemporaryDirectory(prefix="packed-lunch-example-") as folder:
        file = Path(folder) / "store.sqlite3"
        shutil.copyfile(example_file(), file)
        with fixed(NEW_FROM, SHOWN_ONCE), client(database_url=f"sqlite:///{file}") as service:
            yield service, {"Authorization": f"Bearer {SECRET}"}
