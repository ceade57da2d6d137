"""Promise: what an older version wrote opens in this one: exports as JSON and as tables, backups, stores.

``exports/VERSION`` holds files as that version wrote them, of one household with something of every kind.
"""

import csv
import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from service.domain.errors import LunchError
from service.jobs.household.transfer.csv import FILES
from service.jobs.household.transfer.export_household import read_household
from service.jobs.household.transfer.import_household import import_household, read_export
from service.jobs.household.transfer.whole_household import ADDED_LATER, MODELS
from service.reference.fault_words import fault_words
from service.store.access.households import all_households
from service.store.backup import restore_backup
from service.store.database import Store
from service.store.household.kinds import PRICE
from service.store.household.pack_prices import of_pack
from service.store.household.records import create, new_id
from service.store.migrate import downgrade, open_store
from service.store.tables import lunches, offers, packets, prices
from tests.refused import refused
from tests.store.filled import fill

OLDER = sorted((Path(__file__).parent / "exports").iterdir())
WRITTEN = [file for file in FILES if file.removesuffix(".csv") not in ADDED_LATER]


def written(folder: Path) -> dict[str, Any]:
    """The records as they were written, without what is dropped by now, with what was added since."""
    found = json.loads((folder / "household.json").read_text())
    for child in found["children"]:
        child["body"].pop("appetite", None)
        child["body"].update(
            {"lunch_standard": None, "yardsticks": [], "vegetarian": False, "dislikes_in_dishes": True, **child["body"]}
        )
    items = [item for lunch in found["lunches"] for item in lunch["body"]["items"]]
    offered = [item for offer in found["offers"] for group in offer["body"]["groups"] for item in group["items"]]
    for item in offered:
        item.update({"portions": [], **item})
    for item in items + offered:
        item.update({"id": None, **item})
        item.pop("label_read")
    for food in found["foods"]:
        food["body"] = {"counts_as": "", "claims": [], "label_law": None, **food["body"]}
    for recipe in found["recipes"]:
        recipe["body"] = {
            "batch_fractions": False,
            "keeps": None,
            "freezes": None,
            "thaw_hours": None,
            "from_address": "",
            **recipe["body"],
        }
    for price in found["prices"]:
        price["body"] = {"child": None, "until": None, **price["body"]}
    for lunch in found["lunches"]:
        lunch["body"].setdefault("judged_by", None)
        if lunch["body"]["found"] is not None:
            lunch["body"]["found"] = {"rests_on": None, **lunch["body"]["found"]}
    return {name: [one["body"] for one in found[name]] for name in found if isinstance(found[name], list)}


@pytest.mark.parametrize("name", ["household.json", "tables"])
@pytest.mark.parametrize("folder", OLDER, ids=lambda folder: folder.name)
def test_an_older_export_is_taken_in(store: Store, folder: Path, name: str) -> None:
    """Every record with every field that is still kept."""
    household = import_household(store, read_export(str(folder / name)))
    there = read_household(store, household)
    found = {name: [record.body for record in records] for name, records in there.records.items()}
    assert found == {**dict.fromkeys(ADDED_LATER, []), **written(folder)}  # noqa: RUF024 - only compared
    assert all(found[name] for name in written(folder))


@pytest.mark.parametrize("folder", OLDER, ids=lambda folder: folder.name)
def test_an_older_backup_is_restored(store: Store, folder: Path) -> None:
    """The same records; and its access keys."""
    restore_backup(store, folder / "backup.jsonl")
    with store.reading() as connection:
        ((household, body),) = all_households(connection)
        assert connection.execute(text("SELECT count(*) FROM access_keys")).scalar() == 1
    assert body["retention_months"] == 24
    found = {name: [one.body for one in records] for name, records in read_household(store, household).records.items()}
    for name, records in written(folder).items():
        assert [MODELS[name].model_validate(body) for body in found[name]] == [
            MODELS[name].model_validate(body) for body in records
        ]


def test_a_child_of_an_older_store_loses_its_appetite(store_url: str) -> None:
    """From the first tables on; all else that was kept of it stays."""
    store = open_store(store_url)
    fill(store, 2)
    downgrade(store, "0001")
    with store.writing() as connection:
        before = connection.execute(text("SELECT body FROM children ORDER BY id")).scalars().all()
    assert all("appetite" in (json.loads(one) if isinstance(one, str) else one) for one in before)
    store.close()
    again = open_store(store_url)
    with again.reading() as connection:
        after = connection.execute(text("SELECT body FROM children ORDER BY id")).scalars().all()
    again.close()
    plain = [json.loads(one) if isinstance(one, str) else one for one in (*before, *after)]
    older, newer = plain[: len(before)], plain[len(before) :]
    assert newer == [{name: value for name, value in one.items() if name != "appetite"} for one in older]


def test_columns_may_come_in_any_order(store: Store, tmp_path: Path) -> None:
    """As a spreadsheet may save them."""
    folder = OLDER[0] / "tables"
    for file in WRITTEN:
        with (folder / file).open(newline="") as before, (tmp_path / file).open("w", newline="") as after:
            csv.writer(after).writerows(row[::-1] for row in csv.reader(before))
    assert read_export(str(tmp_path)) == read_export(str(folder))


@pytest.mark.parametrize(
    ("header", "wrong", "problem"),
    [
        ("id,version,created_at,updated_at,standard,birth_month", "nickname", "is missing"),
        ("id,version,created_at,updated_at,nickname,standard,hunger", "hunger", "is not a column here"),
        ("id,version,created_at,updated_at,nickname,standard,standard", "standard", "appears twice"),
    ],
)
def test_a_column_that_must_be_there_or_that_nobody_knows_is_reported(
    tmp_path: Path, header: str, wrong: str, problem: str
) -> None:
    """By its name; only columns of fields that have a default may be missing."""
    folder = OLDER[0] / "tables"
    for file in WRITTEN:
        (tmp_path / file).write_bytes((folder / file).read_bytes())
    (tmp_path / "children.csv").write_text(header + "\r\n", newline="")
    with refused(LunchError, match=problem) as told:
        read_export(str(tmp_path))
    assert (told.value.value, problem) == (wrong, fault_words(told.value).problem)


OATS = [("2026-09-01", 500), ("2026-10-01", 500), ("2026-11-02", 1000), ("2026-12-01", 500)]
ENDS = [None, "2026-11-01", "2026-11-30", None]
"""In an older version a later price replaced that of a pack of another weight; one of the same weight it still replaces."""


def oats(day: str, grams: float, **more: Any) -> dict[str, Any]:
    """A price of oats, as an older version kept it."""
    price = {"what": "food", "food": "oats", "child": None, "amount_minor": 250, "currency": "EUR"}
    return {**price, "pack_grams": grams, "from": day, **more}


def test_what_a_food_cost_on_a_day_is_the_same_in_a_store_that_is_brought_up(store_url: str) -> None:
    """Packs of two weights that replaced each other end the day before; the meal's price has no end."""
    store = open_store(store_url)
    household = fill(store, 2)
    downgrade(store, "0013")
    with store.writing() as connection:
        connection.execute(prices.delete())
        meal = {"what": "school_meal", "food": None, "child": None, "amount_minor": 310, "currency": "EUR"}
        meal |= {"pack_grams": None, "from": "2026-09-01"}
        bodies = [("food:oats", oats(*one)) for one in OATS] + [("school_meal", meal)]
        for what, body in bodies:
            columns = {"what": what, "from_day": date.fromisoformat(body["from"])}
            create(connection, PRICE, household, body, columns)
    store.close()
    again = open_store(store_url)
    with again.reading() as connection:
        rows = connection.execute(prices.select().order_by(prices.c.id)).all()
    again.close()
    assert [row.body["until"] for row in rows] == [*ENDS, None]
    assert [row.what for row in rows] == [*(f"food:oats:{grams}000" for _day, grams in OATS), "school_meal"]


def test_going_back_to_a_version_with_one_pack_a_day_loses_no_price(store_url: str) -> None:
    """The second pack's price begins the day before."""
    store = open_store(store_url)
    household = fill(store, 2)
    with store.writing() as connection:
        connection.execute(prices.delete())
        for grams in (500, 1000):
            columns = {"what": of_pack("oats", grams), "from_day": date(2026, 11, 2)}
            create(connection, PRICE, household, oats("2026-11-02", grams, until=None), columns)
    downgrade(store, "0013")
    with store.reading() as connection:
        rows = connection.execute(prices.select().order_by(prices.c.id)).all()
        written_bodies = connection.execute(text("SELECT body FROM prices")).scalars().all()
    store.close()
    assert [(row.what, row.body["from"], str(row.from_day)) for row in rows] == [
        ("food:oats", "2026-11-02", "2026-11-02"),
        ("food:oats", "2026-11-01", "2026-11-01"),
    ]
    assert not any("until" in (json.loads(one) if isinstance(one, str) else one) for one in written_bodies)


@pytest.mark.parametrize("name", ["household.json", "tables"])
def test_an_older_export_says_when_its_prices_ended(store: Store, tmp_path: Path, name: str) -> None:
    """As JSON and as tables: what a food cost on a day stays as it was."""
    older = OLDER[0]
    whole = json.loads((older / "household.json").read_text())
    head = {part: whole["prices"][0][part] for part in ("version", "created_at", "updated_at")}
    rows = [{"id": str(new_id()), **head, "body": {**oats(*one), "food": "apple"}} for one in OATS]
    if name == "tables":
        for file in WRITTEN:
            (tmp_path / file).write_bytes((older / "tables" / file).read_bytes())
        columns = ["id", *head, *rows[0]["body"]]
        with (tmp_path / "prices.csv").open("w", newline="") as written_file:
            table = csv.writer(written_file)
            table.writerow(columns)
            table.writerows([{**row, **row["body"]}[column] or "" for column in columns] for row in rows)
    else:
        (tmp_path / name).write_text(json.dumps({**whole, "prices": rows}))
    household = import_household(store, read_export(str(tmp_path if name == "tables" else tmp_path / name)))
    kept = {str(one.id): one.body["until"] for one in read_household(store, household).records["prices"]}
    assert [kept[row["id"]] for row in rows] == ENDS


READ = [{"allergen": "milk", "level": "free"}, {"allergen": "soy", "level": "may_contain"}]
TICKS = [{"allergen": "milk", "level": "not_named"}, {"allergen": "soy", "level": "may_contain"}]


def test_what_was_read_of_an_items_packet_is_a_packet_now(store_url: str) -> None:
    """In a store that is brought up: once for each food and day, and no item has it any more."""
    store = open_store(store_url)
    fill(store, 2)
    downgrade(store, "0004")
    items = [{"food": "apple", "label_read": READ}, {"food": "pear", "label_read": []}]
    with store.writing() as connection:
        connection.execute(lunches.update().values(body={"items": items}))
        connection.execute(offers.update().values(body={"name": "usual", "groups": [{"id": "fruit", "items": items}]}))
    store.close()
    again = open_store(store_url)
    with again.reading() as connection:
        bodies = [row.body for table in (lunches, offers) for row in connection.execute(table.select())]
        read = [row for row in connection.execute(packets.select()) if row.food == "apple"]
    again.close()
    assert "label_read" not in json.dumps(bodies)
    assert '{"food": "apple"' in json.dumps(bodies)
    assert [row.body["allergens"] for row in read] == [TICKS, TICKS]  # one for each of two households
    assert len({row.household_id for row in read}) == 2


def test_what_was_read_of_an_items_packet_is_a_packet_in_an_older_export(store: Store, tmp_path: Path) -> None:
    """The same, as JSON."""
    found = json.loads((OLDER[0] / "household.json").read_text())
    for lunch in found["lunches"]:
        for item in lunch["body"]["items"]:
            item["label_read"] = READ
    (tmp_path / "household.json").write_text(json.dumps(found))
    household = import_household(store, read_export(str(tmp_path / "household.json")))
    kept = read_household(store, household).records["packets"]
    assert kept
    assert all(one.body["allergens"] == TICKS for one in kept)
