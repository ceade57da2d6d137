"""Sum up a kept child's week: its lunches, those of the weeks before for the trend, and the household's prices."""

import re
from datetime import timedelta
from typing import Any
from uuid import UUID

import orjson

from service.domain.errors import BadInput
from service.jobs.household.records import Resource, show_record
from service.jobs.household.requests import is_kept_id
from service.jobs.household.stored_ids import KeptThings
from service.jobs.weeks.requests import ISO_WEEK, WeekRequest, monday_of
from service.jobs.weeks.sum_up_week import sum_up_week
from service.store.kinds import PRICE
from service.store.lunches import bodies_of_days
from service.store.records import Connection, page

WEEKS_BEFORE = 11
"""Weeks before the one asked for that are looked at for the trend; a choice of ours."""
MOST_PRICES = 1000
MOST_MEAL_PRICES = 60


def child_week(connection: Connection, children: Resource, household: UUID, child_id: str, week: str) -> dict[str, Any]:
    """One child's week; ``NotThere`` for a child that is not here, ``BadInput`` for a week that is none."""
    show_record(connection, children, household, child_id)
    if not re.match(ISO_WEEK, week):
        raise BadInput(pointer="/week", value=week, problem="is no week", remedy="Write it like 2026-W49.")
    monday = monday_of(week)
    kept = KeptThings(connection, household)
    child = kept.child(child_id, "/id")
    lunches = bodies_of_days(
        connection, household, UUID(child_id), monday - timedelta(weeks=WEEKS_BEFORE), monday + timedelta(days=6)
    )
    asked = {
        "standard": child.standard,
        "child": child.child_on(monday).model_dump(mode="json", exclude_none=True),
        "setting": child.setting().model_dump(mode="json"),
        "week": week,
        "days": [_day(lunch) for lunch in lunches],
        **_prices(connection, household, kept),
    }
    return sum_up_week(WeekRequest.model_validate_json(orjson.dumps(kept.written_out(asked))))


def _day(lunch: dict[str, Any]) -> dict[str, Any]:
    return {
        "date": lunch["date"],
        "kind": lunch["kind"],
        "items": lunch["items"],
        "uneaten": lunch["uneaten"] or [],
        "menu": lunch["menu"],
        "holding": lunch["holding"],
    }


def _prices(connection: Connection, household: UUID, kept: KeptThings) -> dict[str, Any]:
    """The prices in the currency of the latest one: currencies are never mixed or converted."""
    bodies = sorted(
        (one.body for one in page(connection, PRICE, household, None, MOST_PRICES)), key=lambda p: str(p["from"])
    )
    bodies = [one for one in bodies if one["currency"] == bodies[-1]["currency"]]
    shown = [{name: one[name] for name in ("amount_minor", "currency", "from")} for one in bodies]
    foods = [
        {**row, "pack_grams": one["pack_grams"], "food": _food(kept, one["food"])}
        for row, one in zip(shown, bodies, strict=True)
        if one["what"] == "food"
    ]
    meals = [row for row, one in zip(shown, bodies, strict=True) if one["what"] == "school_meal"]
    return {"prices": foods, "school_meal": meals[-MOST_MEAL_PRICES:]}


def _food(kept: KeptThings, food: str) -> str:
    """A food's id; of an own food its name, since that is what a lunch with its label calls it."""
    return str(kept.food(food, "/prices")["name"]) if is_kept_id(food) else food
