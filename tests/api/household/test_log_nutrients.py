"""Promise: the tables of the log hold each lunch's nutrients, the same as its single check and its week, and stay as it was logged.

The readers are ``frictionless``, pandas and pyarrow.
"""

from pathlib import Path
from typing import Any
from uuid import UUID

import frictionless
import pandas as pd
import pyarrow.parquet as pq
import pytest
from sqlalchemy import update

from service.domain.measures import MEASURES, NUTRIENT_COUNT
from service.store.database import Store
from service.store.household.kinds import LUNCH
from service.store.household.records import find
from tests.api.household.homes import Home, child_body, food_body, lunch_body, today
from tests.api.household.packages import ZIP, in_order, unpacked

NUTRIENTS = MEASURES[:NUTRIENT_COUNT]
ENDS = (("_low", "low"), ("_high", "high"))
Row = dict[str, Any]


class Log:
    """The log of a household, read back: its package, and a table's rows by lunch, from CSV and from Parquet alike."""

    def __init__(self, home: Home, folder: Path) -> None:
        answer = home.ask("GET", "/v1/export", accept=ZIP)
        assert answer.status_code == 200, answer.text
        self.folder = unpacked(answer.content, folder)
        self.package: frictionless.Package = in_order(self.folder)

    def row(self, table: str, lunch: str) -> Row:
        """One row; a value that is not known is None."""
        from_csv = pd.read_csv(self.folder / f"{table}.csv").set_index("lunch")
        from_parquet = pq.read_table(self.folder / f"{table}.parquet").to_pandas().set_index("lunch")
        rows = [frame.loc[lunch] for frame in (from_csv, from_parquet)]
        plain = [{name: None if pd.isna(value) else value for name, value in row.items()} for row in rows]
        columns = [f"{one.id}{end}" for one in NUTRIENTS for end in ("", "_low", "_high")]
        assert [plain[0][name] for name in columns] == [plain[1][name] for name in columns]
        return plain[0]

    def lunches(self, table: str) -> set[str]:
        """The lunches that have a row in a table."""
        return set(pd.read_csv(self.folder / f"{table}.csv", dtype=str)["lunch"])


def totals(home: Home, child: str, items: list[Row]) -> dict[str, Row]:
    """The sums of the single check of a stored child's lunch today."""
    answer = home.ask("POST", "/v1/lunch-checks", {"child": child, "on": today(), "lunch": {"items": items}})
    assert answer.status_code == 200, answer.text
    found: dict[str, Row] = answer.json()["totals"]
    return found


@pytest.fixture
def child(home: Home) -> str:
    return home.kept("/v1/children", child_body())


def test_a_lunch_has_the_sums_of_its_single_check(home: Home, child: str, tmp_path: Path) -> None:
    """Exact figures of the tables, a label's rounded ones, and nutrients that the label does not give."""
    bar = home.kept("/v1/foods", food_body())
    body = lunch_body(child, today(), "apple", "milk-1-percent", bar)
    lunch = home.kept("/v1/lunches", body)
    row, checked = Log(home, tmp_path).row("lunches", lunch), totals(home, child, body["items"])
    for one in NUTRIENTS:
        for end, name in ENDS:
            assert row[one.id + end] == checked[one.id][name], one.id
    label = food_body()["facts"]
    for one in NUTRIENTS:  # the figures that stand on the label are known; of all others the bar has none
        assert row[one.id] == (checked[one.id]["amount"] if one.id in label or not one.on_labels else None), one.id
    assert row["energy_kcal_low"] < row["energy_kcal"] < row["energy_kcal_high"]  # 170 kcal on a label is 165 to 175
    assert row["calcium_mg"] is None
    assert row["calcium_mg_low"] > 300  # of the milk
    assert row["calcium_mg_high"] is None
    assert row["why_no_figures"] is None


def test_figures_of_the_tables_are_exact(home: Home, child: str, tmp_path: Path) -> None:
    """182 g of apple, 52 kcal and 107 mg of potassium in 100 g (USDA SR28, 09003)."""
    body = lunch_body(child, today(), items=[{"food": "apple", "quantity": 182, "unit": "g"}])
    lunch = home.kept("/v1/lunches", body)
    row = Log(home, tmp_path).row("lunches", lunch)
    assert [row[f"energy_kcal{end}"] for end in ("", "_low", "_high")] == [94.64] * 3
    assert [row[f"potassium_mg{end}"] for end in ("", "_low", "_high")] == [194.74] * 3


def test_units_stand_in_the_data_dictionary(home: Home, child: str, tmp_path: Path) -> None:
    home.kept("/v1/lunches", lunch_body(child, today()))
    log = Log(home, tmp_path)
    for table in ("lunches", "eaten"):
        fields = {field.name: field for field in log.package.get_resource(table).schema.fields}
        parquet = pq.read_schema(log.folder / f"{table}.parquet")
        for one in NUTRIENTS:
            for end in ("", "_low", "_high"):
                field = fields[one.id + end]
                assert (field.type, field.custom["unit"]) == ("number", one.unit)
                assert one.label.lower() in field.description.lower()
                assert parquet.field(one.id + end).metadata[b"unit"].decode() == one.unit


def test_what_came_back_is_not_eaten(home: Home, child: str, tmp_path: Path) -> None:
    """``lunches`` has what was packed; ``eaten`` what the week counts, for lunches of which it was noted."""
    noted = home.kept("/v1/lunches", lunch_body(child, today(), uneaten=[{"item": 1, "share": 1}]))
    silent = home.kept("/v1/lunches", lunch_body(child, today(-1)))
    log = Log(home, tmp_path)
    assert log.lunches("lunches") == {noted, silent}
    assert log.lunches("eaten") == {noted}
    packed, eaten = log.row("lunches", noted), log.row("eaten", noted)
    whole, apple = (
        totals(home, child, [{"food": "apple"}, {"food": "milk-1-percent"}]),
        totals(home, child, [{"food": "apple"}]),
    )
    assert packed["energy_kcal"] == whole["energy_kcal"]["amount"]
    assert eaten["energy_kcal"] == apple["energy_kcal"]["amount"]
    week = home.ask("GET", f"/v1/children/{child}/weeks/{packed['week']}").json()
    of_day = next(day["totals"] for day in week["days"] if day["date"] == today())
    for one in NUTRIENTS:
        for end, name in ENDS:
            assert eaten[one.id + end] == of_day[one.id][name], one.id


def test_a_food_that_came_back_whole_leaves_no_gap(home: Home, child: str, tmp_path: Path) -> None:
    bar = home.kept("/v1/foods", food_body())
    body = lunch_body(child, today(), "apple", bar, uneaten=[{"item": 1, "share": 1}])
    lunch = home.kept("/v1/lunches", body)
    log = Log(home, tmp_path)
    assert log.row("lunches", lunch)["potassium_mg"] is None
    assert log.row("eaten", lunch)["potassium_mg"] == totals(home, child, [{"food": "apple"}])["potassium_mg"]["amount"]


def test_a_food_edited_later_does_not_move_the_log(home: Home, child: str, tmp_path: Path) -> None:
    bar = home.kept("/v1/foods", food_body())
    lunch = home.kept("/v1/lunches", lunch_body(child, today(), bar))
    edited = home.ask("PATCH", f"/v1/foods/{bar}", {"facts": {"energy_kcal": 300}}, if_match='"1"')
    assert edited.status_code == 200, edited.text
    assert Log(home, tmp_path).row("lunches", lunch)["energy_kcal"] == 170


def test_the_packet_of_its_day_counts(home: Home, child: str, tmp_path: Path) -> None:
    packet = {
        "food": "hummus",
        "read_on": today(),
        "facts": {"sodium_mg": 500},
    }
    stored = home.kept("/v1/packets", packet)
    items = [{"food": "hummus", "quantity": 50, "unit": "g"}]
    lunch = home.kept("/v1/lunches", lunch_body(child, today(), items=items))
    checked = totals(home, child, items)
    gone = home.ask("DELETE", f"/v1/packets/{stored}", if_match='"1"')
    assert gone.status_code == 204, gone.text
    row = Log(home, tmp_path).row("lunches", lunch)
    assert row["sodium_mg"] == checked["sodium_mg"]["amount"] == 250
    assert totals(home, child, items)["sodium_mg"]["amount"] != 250  # without its packet


def test_a_bought_meal_has_the_figures_of_its_menu(home: Home, child: str, tmp_path: Path) -> None:
    told = {"name": "pasta bake", "facts": {"energy_kcal": 610}}
    figures = home.kept("/v1/lunches", {"child": child, "date": today(), "kind": "bought", "menu": told})
    name_only = {"child": child, "date": today(-1), "kind": "bought", "menu": {"name": "soup"}}
    name = home.kept("/v1/lunches", name_only)
    none = home.kept("/v1/lunches", {"child": child, "date": today(-2), "kind": "none"})
    log = Log(home, tmp_path)
    row = log.row("lunches", figures)
    assert [row[f"energy_kcal{end}"] for end in ("", "_low", "_high")] == [610] * 3
    assert [row[f"sodium_mg{end}"] for end in ("", "_low", "_high")] == [None, 0, None]
    for lunch in (name, none):
        row = log.row("lunches", lunch)
        assert all(row[f"{one.id}{end}"] is None for one in NUTRIENTS for end in ("", "_low", "_high"))
        assert row["why_no_figures"] is None


def changed(home: Home, store: Store, lunch: str, **parts: Any) -> None:
    """Change what is stored of a lunch, as another version of the program may have written it."""
    with store.writing() as connection:
        kept = find(connection, LUNCH, home.id, UUID(lunch))
        assert kept is not None
        table = LUNCH.table
        connection.execute(update(table).where(table.c.id == UUID(lunch)).values(body={**kept.body, **parts}))


def test_an_older_record_goes_by_what_is_stored_now(home: Home, store: Store, child: str, tmp_path: Path) -> None:
    bar = home.kept("/v1/foods", food_body())
    body = lunch_body(child, today(), "apple", bar)
    lunch = home.kept("/v1/lunches", body)
    changed(home, store, lunch, judged_by=None)
    assert home.ask("PATCH", f"/v1/foods/{bar}", {"facts": {"energy_kcal": 300}}, if_match='"1"').status_code == 200
    row = Log(home, tmp_path).row("lunches", lunch)
    assert row["energy_kcal"] == totals(home, child, body["items"])["energy_kcal"]["amount"]


def test_a_food_that_is_known_no_longer_is_named_and_holds_nothing_else_back(
    home: Home, store: Store, child: str, tmp_path: Path
) -> None:
    lost, other = (home.kept("/v1/lunches", lunch_body(child, today(days))) for days in (0, -1))
    items = home.ask("GET", f"/v1/lunches/{lost}").json()["items"]
    changed(home, store, lost, items=[{**items[0], "food": "apple-of-before"}, *items[1:]])
    log = Log(home, tmp_path)
    row = log.row("lunches", lost)
    assert "apple-of-before" in row["why_no_figures"]
    assert all(row[one.id] is None for one in NUTRIENTS)
    assert log.row("lunches", other)["energy_kcal"] > 0


def test_that_nothing_came_back_is_a_row_of_its_own(home: Home, child: str, tmp_path: Path) -> None:
    """An empty list says that all was eaten; without a list nobody knows."""
    lunch = home.kept("/v1/lunches", lunch_body(child, today(), uneaten=[]))
    log = Log(home, tmp_path)
    packed, eaten = log.row("lunches", lunch), log.row("eaten", lunch)
    assert eaten["energy_kcal"] > 0
    assert [eaten[one.id] for one in NUTRIENTS] == [packed[one.id] for one in NUTRIENTS]
