"""Yardsticks beside the lunches of a table: one column, apart, and without a say in the answer.

That each status is that of the single check is a law (``test_same_as_single.py``).
"""

from pathlib import Path
from typing import Any

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from typer.testing import CliRunner, Result

from service.cli.main import app
from service.domain.errors import LunchError
from service.jobs.tables.check_table import CheckedTable, check_table
from service.jobs.tables.request import LunchTableRequest, check_rows

WHO, GUIDELINES = "who-free-sugars-2015", "us-dietary-guidelines-2025"
STRONG, CONDITIONAL = f"{WHO}/free-sugars-strong", f"{WHO}/free-sugars-conditional"
APPLE = {"food": "apple"}
JUICE = {"food": "apple-juice", "quantity": 200, "unit": "g"}
BAR = {"food": "sr28-19015", "quantity": 25, "unit": "g"}
"""A granola bar; for generic foods nothing is known of free sugars but that they are among all sugars."""


def frame(*lunches: dict[str, Any]) -> pd.DataFrame:
    """Lunches of one item each, numbered."""
    told = {"standard": "us-school-lunch", "on": "2026-12-01", "age_months": 98}
    return pd.DataFrame([{"lunch": f"L{place}", **told, **one} for place, one in enumerate(lunches)])


def column(checked: CheckedTable) -> list[str | None]:
    """What is said of each lunch."""
    return [None if pd.isna(one) else str(one) for one in checked.lunches["yardsticks"]]


def test_each_limit_is_met_over_or_not_known() -> None:
    checked = check_table(frame(*({**one, "yardsticks": WHO} for one in (APPLE, JUICE, BAR))))
    assert column(checked) == [
        f"{STRONG}:{status};{CONDITIONAL}:{status}" for status in ("met", "over", "unknown")
    ]  # an apple has none; all sugars of juice are free sugars (WHO 2015)


def test_nothing_is_said_of_a_lunch_that_names_none_and_nothing_else_changes() -> None:
    plain, beside = frame(APPLE, JUICE), frame(APPLE, {**JUICE, "yardsticks": WHO})
    without, with_it = check_table(plain), check_table(beside)
    assert column(without) == [None, None]
    assert column(with_it)[0] is None
    same = [name for name in without.lunches if name != "yardsticks"]
    pd.testing.assert_frame_equal(with_it.lunches[same], without.lunches[same])
    pd.testing.assert_frame_equal(with_it.findings, without.findings)


def test_one_without_rows_for_the_day_says_so() -> None:
    early = check_table(frame({**APPLE, "on": "2026-01-06", "yardsticks": f"{GUIDELINES}; {WHO}"}))
    assert column(early) == [f"{STRONG}:met;{CONDITIONAL}:met;{GUIDELINES}:no_rows"]


def test_those_of_the_whole_table_are_for_lunches_that_name_none() -> None:
    rows = frame(APPLE, {**APPLE, "yardsticks": GUIDELINES}, {**APPLE, "yardsticks": " "})
    for given in (rows, rows.astype({"yardsticks": "category"})):
        told = column(check_table(given, yardsticks=[WHO]))
        assert [str(one).partition("/")[0] for one in told] == [WHO, GUIDELINES, WHO]
    assert column(check_table(frame(APPLE), yardsticks=[WHO])) == [f"{STRONG}:met;{CONDITIONAL}:met"]


def bulk(*options: str | Path) -> Result:
    return CliRunner().invoke(app, ["bulk", *map(str, options)])


@pytest.mark.parametrize("kind", ["csv", "ndjson", "parquet"])
def test_the_command_line_puts_them_beside_a_whole_file(tmp_path: Path, kind: str) -> None:
    source, out = tmp_path / f"table.{kind}", tmp_path / f"out.{kind}"
    rows = frame(APPLE, JUICE)
    if kind == "csv":
        rows.to_csv(source, index=False)
    elif kind == "ndjson":
        rows.to_json(source, orient="records", lines=True)
    else:
        rows.to_parquet(source)
    bulk(source, "--out", out, "--yardstick", WHO, "--yardstick", GUIDELINES)
    read = {"csv": pd.read_csv, "parquet": pd.read_parquet, "ndjson": lambda file: pd.read_json(file, lines=True)}
    told = list(read[kind](out)["yardsticks"])  # type: ignore[operator]
    assert [one.split(";")[0] for one in told] == [f"{STRONG}:met", f"{STRONG}:over"]
    assert all(f"{GUIDELINES}/added-sugars:" in one for one in told)


def test_a_list_of_a_parquet_file_is_read(tmp_path: Path) -> None:
    table = pa.Table.from_pandas(frame(APPLE))
    names = pa.array([[WHO, GUIDELINES]], pa.list_(pa.string()))
    pq.write_table(table.append_column("yardsticks", names), tmp_path / "table.parquet")
    bulk(tmp_path / "table.parquet", "--out", tmp_path / "out.parquet")
    (told,) = pd.read_parquet(tmp_path / "out.parquet")["yardsticks"]
    assert {one.partition("/")[0] for one in told.split(";")} == {WHO, GUIDELINES}


def test_an_unknown_one_on_the_command_line_is_refused_and_nothing_written(tmp_path: Path) -> None:
    frame(APPLE).to_csv(tmp_path / "table.csv", index=False)
    done = bulk(tmp_path / "table.csv", "--out", tmp_path / "out.csv", "--yardstick", WHO, "--yardstick", "who-sugars")
    assert done.exit_code == 2
    assert "--yardstick/1: 'who-sugars' is not a known yardstick" in " ".join(done.stderr.split())
    assert sorted(one.name for one in tmp_path.iterdir()) == ["table.csv"]


def test_an_unknown_one_of_a_request_is_refused_at_its_place() -> None:
    body = {"rows": [{"lunch": "L", "standard": "us-school-lunch", "on": "2026-12-01", "food": "apple"}]}
    with pytest.raises(LunchError) as caught:
        check_rows(LunchTableRequest.model_validate(body | {"yardsticks": [WHO, "us-school-lunch"]}))
    assert [one.pointer for one in caught.value.faults()] == ["/yardsticks/1"]
