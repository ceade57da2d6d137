"""The log of a household as tables for other programs: each lunch that was logged, and each item that was packed.

It says what was logged, as it was logged, and its nutrients; a week's summary holds them against a standard. It is not read
back: an export is.
"""

from typing import Any
from uuid import UUID

from service.domain.messages import message
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.household.transfer.export_household import household_at
from service.jobs.household.transfer.log_nutrients import LunchNutrients, nutrient_columns, nutrients_of
from service.jobs.requests.fields import day_in, is_kept_id
from service.jobs.tables.data_package.tables import Column, DataPackage, DataTable
from service.jobs.weeks.requests import week_of
from service.reference.foods.catalogue import find_food
from service.store.database import Store
from service.store.household.kinds import CHILD, FOOD, RECIPE
from service.store.household.records import Record

Body = dict[str, Any]

OF_LUNCH = (
    Column("date", "date", message("data-column.date")),
    Column("week", "string", message("data-column.week")),
    Column("child", "string", message("data-column.child")),
    Column("nickname", "string", message("data-column.nickname")),
)
LUNCH_COLUMNS = (
    Column("lunch", "string", message("data-column.lunch")),
    *OF_LUNCH,
    Column("kind", "string", message("data-column.lunch-kind")),
    Column("items", "integer", message("data-column.items")),
    Column("menu", "string", message("data-column.menu")),
    Column("standard", "string", message("data-column.standard")),
    Column("age_group", "string", message("data-column.age-group")),
    Column("verdict", "string", message("data-column.verdict")),
    Column("logged_at", "string", message("data-column.logged-at")),
    Column("why_no_figures", "string", message("data-column.why-no-figures")),
    *nutrient_columns(eaten=False),
)
EATEN_COLUMNS = (
    Column("lunch", "string", message("data-column.lunch")),
    *OF_LUNCH,
    *nutrient_columns(eaten=True),
)
ITEM_COLUMNS = (
    Column("lunch", "string", message("data-column.lunch")),
    Column("item", "integer", message("data-column.item")),
    *OF_LUNCH,
    Column("food", "string", message("data-column.food")),
    Column("name", "string", message("data-column.name")),
    Column("quantity", "number", message("data-column.quantity")),
    Column("unit", "string", message("data-column.unit-logged")),
    Column("form", "string", message("data-column.form")),
    Column("uneaten_share", "number", message("data-column.uneaten")),
)


def log_package(store: Store, household: UUID) -> DataPackage:
    """The tables of a household's log, the items first; lunches by day and child. ``NotThere`` for no household of that id."""
    with store.reading() as connection:
        whole = household_at(connection, household)
        kept = KeptThings(connection, household)
        for kind, name in ((CHILD, "children"), (FOOD, "foods"), (RECIPE, "recipes")):
            kept.know(kind, whole.records[name])
        lunches = sorted(whole.records["lunches"], key=lambda one: (one.body["date"], one.body["child"]))
        nutrients = [nutrients_of(kept, one.body) for one in lunches]
    names = {str(one.id): one.body["name"] for kind in ("foods", "recipes") for one in whole.records[kind]}
    nicknames = {str(one.id): one.body["nickname"] for one in whole.records["children"]}
    told = [(one, _of_lunch(one, nicknames)) for one in lunches]
    items = [row for one, lunch in told for row in _items(one, lunch, names)]
    rows = [{**lunch, **_lunch(one, found)} for (one, lunch), found in zip(told, nutrients, strict=True)]
    eaten = [
        {**lunch, **found.eaten}
        for (_one, lunch), found in zip(told, nutrients, strict=True)
        if found.eaten is not None
    ]
    belongs = (("lunch", "lunches", "lunch"),)
    return DataPackage(
        "lunch-log",
        message("data-package.log"),
        (
            DataTable("items", message("data-package.logged-items"), ITEM_COLUMNS, items, ("lunch", "item"), belongs),
            DataTable("lunches", message("data-package.lunches"), LUNCH_COLUMNS, rows, ("lunch",)),
            DataTable("eaten", message("data-package.eaten"), EATEN_COLUMNS, eaten, ("lunch",), belongs),
        ),
    )


def _of_lunch(record: Record, nicknames: dict[str, str]) -> Body:
    day = day_in(record.body["date"])
    assert day is not None  # noqa: S101 - it was validated before it was kept
    child = record.body["child"]
    return {
        "lunch": str(record.id),
        "date": record.body["date"],
        "week": week_of(day),
        "child": child,
        "nickname": nicknames.get(child),
    }


def _lunch(record: Record, nutrients: LunchNutrients) -> Body:
    body, found = record.body, record.body.get("found") or {}
    return {
        "kind": body["kind"],
        "items": len(body["items"]),
        "menu": None if body["menu"] is None else body["menu"]["name"],
        **{name: found.get(name) for name in ("standard", "age_group", "verdict")},
        "logged_at": record.created_at.isoformat(timespec="seconds"),
        "why_no_figures": " ".join(nutrients.why_none) or None,
        **nutrients.packed,
    }


def _items(record: Record, lunch: Body, names: dict[str, str]) -> list[Body]:
    back = record.body["uneaten"]
    shares = {one["item"]: one["share"] for one in back or []}
    return [
        {
            **lunch,
            "item": place,
            **_food(item["food"], names),
            **{name: item[name] for name in ("quantity", "unit", "form")},
            "uneaten_share": None if back is None else shares.get(place, 0.0),
        }
        for place, item in enumerate(record.body["items"])
    ]


def _food(food: str | Body, names: dict[str, str]) -> Body:
    """Id and name of a food; one that was sent along has no id."""
    if not isinstance(food, str):
        return {"food": None, "name": food["name"]}
    known = None if is_kept_id(food) else find_food(food)
    return {"food": food, "name": names.get(food) if known is None else known.name}
