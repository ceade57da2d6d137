"""Four school weeks of an invented family, drawn with a fixed seed, kept and checked as the family itself would do it.

Lunches are logged until yesterday, and today the first child's alone: the others are still to take.
The first records of each kind have fixed ids: those of the examples in the OpenAPI document, which so can be tried out.
"""

import random
from collections.abc import Mapping
from datetime import date, timedelta
from pathlib import Path
from typing import Any, NamedTuple
from uuid import UUID

import orjson

from service.domain.errors import AlreadyThere
from service.domain.messages import message
from service.jobs.household.access.access_keys import FIRST_KEY_NAME
from service.jobs.household.kinds import (
    CHILDREN,
    FOODS,
    LUNCHES,
    OFFERS,
    PACKETS,
    PLANS,
    PRICES,
    RECIPES,
    SCHOOL_DAYS,
    STOCK,
)
from service.jobs.household.plan.plans import keep_plan
from service.jobs.household.plan.start import plan_start
from service.jobs.household.plan.wanted import plan_wanted, school_days_from, usually_wanted
from service.jobs.household.records import Resource, keep_record, read_asked
from service.jobs.household.settings import HouseholdSettings
from service.jobs.household.stock.entries import today as today_of_stock
from service.jobs.household.stored.stored_ids import with_ids_resolved
from service.store.access.households import all_households, create_household, create_key
from service.store.database import Store
from service.store.household.records import Connection, Record

WEEKS, DAYS_A_WEEK = 4, 5
DATA = Path(__file__).with_name("demo_weeks.json")
SHARES = (0.25, 0.5, 1.0)
"""Parts of an item that come back."""


class DemoHousehold(NamedTuple):
    """What was kept: the household, its keys (nowhere kept), the first Monday, children by nickname, and lunches."""

    household: UUID
    key: str
    reading_key: str
    first_monday: date
    children: dict[str, UUID]
    lunches: list[dict[str, Any]]


def first_monday(today: date) -> date:
    """The Monday on which the four weeks begin that end with this one."""
    return today - timedelta(today.weekday(), weeks=WEEKS - 1)


def keep_demo_household(store: Store, today: date) -> DemoHousehold:
    """Keep the demo family with four weeks up to this one, all or nothing; ``AlreadyThere`` if it is kept already."""
    data = orjson.loads(DATA.read_bytes())
    with store.writing() as connection:
        for household, body in all_households(connection):
            if body.get("name") == data["household"]["name"]:
                raise AlreadyThere(
                    pointer="--keep",
                    value=str(household),
                    problem=message("fault.demo-kept", household=str(household)),
                )
        said = HouseholdSettings.model_validate(data["household"])
        household = create_household(connection, said.model_dump(mode="json"))
        _, key = create_key(connection, household, FIRST_KEY_NAME, "keep")
        _, reading_key = create_key(connection, household, "tablet", "read", UUID(data["first_ids"]["keys"][0]))
        return _Filling(connection, household, data, today).fill(key, reading_key)


class _Filling:
    """Keeps one thing after the other; ``own``: the ids of own foods and recipes by their names."""

    def __init__(self, connection: Connection, household: UUID, data: Mapping[str, Any], today: date) -> None:
        self.connection, self.household, self.data = connection, household, data
        self.today, self.monday = today, first_monday(today)
        self.own: dict[str, str] = {}
        self.ids = {name: iter(map(UUID, some)) for name, some in data["first_ids"].items()}
        self.chance = random.Random(data["seed"])  # noqa: S311 - what the family eats is no secret

    def fill(self, key: str, reading_key: str) -> DemoHousehold:
        """Everything, in the order in which one needs the other."""
        for resource, name in ((FOODS, "foods"), (RECIPES, "recipes")):
            for body in self.data[name]:
                self.own[body["name"]] = str(self._keep(resource, body).id)
        read_on = (self.monday - timedelta(1)).isoformat()
        for packet in self.data["packets"]:
            self._keep(PACKETS, {**packet, "read_on": read_on})
        for offer in self.data["offers"]:
            usual = self._keep(OFFERS, offer).id
        for price in self.data["prices"]:
            start = self.monday + timedelta(weeks=WEEKS - price["weeks_before"])
            body = {name: value for name, value in price.items() if name != "weeks_before"}
            self._keep(PRICES, {**body, "from": start.isoformat()})
        children: dict[str, UUID] = {}
        lunches: list[dict[str, Any]] = []
        for child in self.data["children"]:
            months = (self.monday.year * 12 + self.monday.month - 1) - child["age_months"] - 1
            born = f"{months // 12}-{months % 12 + 1:02}"
            record = self._keep(CHILDREN, {**child["body"], "birth_month": born})
            children[child["body"]["nickname"]] = record.id
            days = [(week, day) for week in range(WEEKS) for day in range(DAYS_A_WEEK)]
            drawn = [self._lunch(child, record.id, *one) for one in days]
            last = self.today if len(children) == 1 else self.today - timedelta(1)
            lunches += [self._keep(LUNCHES, one).body for one in drawn if one["date"] <= last.isoformat()]
        for week in range(WEEKS + 1):  # the week to come is set out too
            for day in range(DAYS_A_WEEK):
                self._keep(SCHOOL_DAYS, self._school_day(children, usual, week, day))
        for entry in self.data["stock"]:
            self._keep(STOCK, self._stock_entry(entry))
        self._keep_plan(usual)
        return DemoHousehold(self.household, key, reading_key, self.monday, children, lunches)

    def _stock_entry(self, entry: Mapping[str, Any]) -> dict[str, Any]:
        """Made or bought on the Sunday before the last week."""
        sunday = min(self.monday + timedelta(-1, weeks=WEEKS - 1), today_of_stock())
        body = {name: value for name, value in entry.items() if name != "made"}
        return {**body, "made_on" if entry["made"] else "bought_on": sunday.isoformat()}

    def _keep_plan(self, offer: UUID) -> None:
        """The week to come, planned as the page of a new plan begins, with the usual offer alone."""
        from service.jobs.plan.weeks.plan_weeks import plan_weeks  # it loads numpy and the solver

        connection, household = self.connection, self.household
        days = school_days_from(self.monday + timedelta(weeks=WEEKS), 1)
        start = plan_start(connection, household, days[0], days[-1])
        wanted = usually_wanted(start, self.data["plan"], days, [str(offer)])
        asked = plan_wanted(connection, household, start, wanted, self.today)
        made = plan_weeks(with_ids_resolved(connection, household, asked))
        keep_plan(connection, household, asked, made, next(self.ids[PLANS.collection], None))

    def _school_day(self, children: Mapping[str, UUID], offer: UUID, week: int, day: int) -> dict[str, Any]:
        buys = [one["body"]["nickname"] for one in self.data["children"] if [week, day] in one["bought"]]
        return {
            "date": (self.monday + timedelta(day, weeks=week)).isoformat(),
            "offer": str(offer),
            "menu": self.data["bought"] if buys else None,
            "buys": [str(children[nickname]) for nickname in buys],
        }

    def _lunch(self, child: Mapping[str, Any], child_id: UUID, week: int, day: int) -> dict[str, Any]:
        lunch: dict[str, Any] = {
            "child": str(child_id),
            "date": (self.monday + timedelta(day, weeks=week)).isoformat(),
            "kind": "packed",
        }
        if [week, day] in child["none"]:
            return {**lunch, "kind": "none"}
        if [week, day] in child["bought"]:
            return {**lunch, "kind": "bought", "menu": self.data["bought"]}
        parts = {part: self.chance.choice(child[part]) for part in ("main", "fruit", "vegetable", "drink")}
        special = self.data["acknowledged"]
        if (special["child"], special["week"], special["day"]) == (child["body"]["nickname"], week, day):
            parts["fruit"] = special["instead_of_fruit"]
            lunch["acknowledged"] = {"reason": special["reason"]}
        if self.chance.random() < 0.4:
            parts["extra"] = self.chance.choice(child["extra"])
        lunch["items"] = list(parts.values())
        lunch["holding"] = self.data["household"]["holding"]
        said = self.chance.random()
        if said < 0.3:
            place = self.chance.randrange(len(parts))
            lunch["uneaten"] = [{"item": place, "share": self.chance.choice(SHARES)}]
        elif said < 0.9:
            lunch["uneaten"] = []
        return lunch

    def _keep(self, resource: Resource, body: Mapping[str, Any]) -> Record:
        asked = read_asked(resource, orjson.dumps(self._with_ids(body)))
        fixed = next(self.ids[resource.collection], None)
        return keep_record(self.connection, resource, self.household, asked, None, fixed).record

    def _with_ids(self, part: Any) -> Any:
        """The names of own foods and recipes as their ids."""
        if isinstance(part, list):
            return [self._with_ids(one) for one in part]
        if isinstance(part, dict):
            return {
                name: self.own.get(value, value) if name == "food" and isinstance(value, str) else self._with_ids(value)
                for name, value in part.items()
            }
        return part
