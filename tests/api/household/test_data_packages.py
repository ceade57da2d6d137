"""Promise: the week and the log go out as tables that general readers open and find in order.

The readers are ``frictionless`` (which holds each CSV against its data dictionary, its length and its digest), pandas and
pyarrow; the figures asked for are those of the JSON answer to the same request.
"""

import io
import json
from pathlib import Path
from typing import Any

import pandas as pd
import pyarrow.parquet as pq
import pytest

from service.domain.measures import MEASURES
from tests.api.clients import client
from tests.api.household.homes import Home, child_body, food_body, lunch_body, today
from tests.api.household.packages import ZIP, in_order, unpacked
from tests.api.problems_seen import problem_of

PARQUET = "application/vnd.apache.parquet"
WEEK = Path("openapi_examples/sum-up-week/packed-and-bought.request.json")
TABLES = {"days", "items", "findings", "allergens"}


def ask_week(accept: str) -> Any:
    with client() as service:
        return service.post("/v1/weekly-summaries", json=json.loads(WEEK.read_text()), headers={"Accept": accept})


@pytest.fixture(scope="module")
def week_json() -> dict[str, Any]:
    whole: dict[str, Any] = ask_week("application/json").json()
    return whole


def test_a_week_is_found_in_order_and_has_its_figures(week_json: dict[str, Any], tmp_path: Path) -> None:
    answer = ask_week(ZIP)
    assert answer.headers["content-type"] == ZIP
    package = in_order(unpacked(answer.content, tmp_path))
    assert {one.name for one in package.resources} == TABLES
    units = {field.name: field.custom.get("unit") for field in package.get_resource("days").schema.fields}
    assert {one.id: one.unit for one in MEASURES} == {one.id: units[one.id] for one in MEASURES}
    days = pd.read_csv(tmp_path / "days.csv")
    same = pq.read_table(tmp_path / "days.parquet").to_pandas()
    assert list(days.columns) == list(same.columns)
    for place, day in enumerate(week_json["days"]):
        totals = day["totals"] or {}
        for measure in MEASURES:
            for ending, name in (("", "amount"), ("_low", "low"), ("_high", "high")):
                told = totals.get(measure.id, {}).get(name)
                for frame in (days, same):
                    found = frame.loc[place, measure.id + ending]
                    assert pd.isna(found) if told is None else found == told
    items = pd.read_csv(tmp_path / "items.csv")
    assert len(items) == sum(len(day["items"]) for day in week_json["days"])
    assert items["grams"].sum() == pytest.approx(sum(one["grams"] for day in week_json["days"] for one in day["items"]))
    findings = pd.read_csv(tmp_path / "findings.csv", keep_default_na=False)
    assert list(findings["sentence"][: len(week_json["findings"])]) == [
        one["sentence"] for one in week_json["findings"]
    ]
    assert (findings["source"] != "").all()


def test_a_week_as_parquet_says_its_units(week_json: dict[str, Any]) -> None:
    table = pq.read_table(io.BytesIO(ask_week(PARQUET).content))
    assert table.num_rows == len(week_json["days"])
    energy = table.schema.field("energy_kcal").metadata
    assert energy[b"unit"] == b"kcal"
    assert b"nergy" in energy[b"description"]
    assert [one.isoformat() for one in table.column("date").to_pylist()] == [one["date"] for one in week_json["days"]]


def test_the_same_week_gives_the_same_bytes() -> None:
    assert ask_week(ZIP).content == ask_week(ZIP).content


def logged(home: Home) -> tuple[str, str]:
    """A child with a lunch of an own food whose name a spreadsheet would take for a formula."""
    child = home.kept("/v1/children", child_body("Juniper"))
    food = home.kept("/v1/foods", food_body("=oat bar"))
    return child, home.kept("/v1/lunches", lunch_body(child, today(), food))


def test_the_log_is_found_in_order_and_read_back(home: Home, tmp_path: Path) -> None:
    child, lunch = logged(home)
    answer = home.ask("GET", "/v1/export", accept=ZIP)
    assert answer.headers["content-type"] == ZIP
    package = in_order(unpacked(answer.content, tmp_path))
    assert [one.name for one in package.resources] == ["items", "lunches", "eaten"]
    body = home.ask("GET", f"/v1/lunches/{lunch}").json()
    lunches = pd.read_csv(tmp_path / "lunches.csv", parse_dates=["date"])
    assert lunches.loc[0, "lunch"] == lunch
    assert lunches.loc[0, "child"] == child
    assert lunches.loc[0, "date"].date().isoformat() == today()
    assert lunches.loc[0, "items"] == len(body["items"])
    assert lunches.loc[0, "verdict"] == body["found"]["verdict"]
    items = pd.read_csv(tmp_path / "items.csv")
    assert list(items["food"]) == [one["food"] for one in body["items"]]
    assert list(items["quantity"]) == [one["quantity"] for one in body["items"]]
    assert "'=oat bar" in set(items["name"])  # marked: no spreadsheet takes it for a formula
    same = pq.read_table(tmp_path / "items.parquet").to_pandas()
    assert "=oat bar" in set(same["name"])
    alone = home.ask("GET", "/v1/export", accept=PARQUET)
    assert pd.read_parquet(io.BytesIO(alone.content)).equals(same)


def test_an_empty_log_is_in_order_too(home: Home, tmp_path: Path) -> None:
    in_order(unpacked(home.ask("GET", "/v1/export", accept=ZIP).content, tmp_path))


def test_the_export_names_its_formats(home: Home) -> None:
    """JSON where nothing is asked for; 406 with the list where none is accepted."""
    assert home.ask("GET", "/v1/export").headers["content-type"] == "application/json"
    assert home.ask("GET", "/v1/export", accept="*/*").headers["content-type"] == "application/json"
    told = json.dumps(problem_of(home.ask("GET", "/v1/export", accept="text/html"), 406, "not-acceptable"))
    assert all(media in told for media in ("application/json", ZIP, PARQUET))
