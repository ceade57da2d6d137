"""Promise: a row of a backup that could not be used later is named with its field, and can be left out with what hangs on it."""

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from service.domain.errors import LunchError
from service.jobs.household.access.access_keys import recognise
from service.jobs.household.access.store import back_up
from service.jobs.household.demo import keep_demo_household
from service.jobs.household.kinds import RESOURCES
from service.jobs.household.transfer.restore import restore
from service.jobs.household.transfer.restored_rows import ALONE, HOUSEHOLDS, OF_TABLE, REMOVED
from service.reference.fault_words import fault_sentence
from service.store.database import Store
from service.store.tables import METADATA
from tests.store.changed_backups import rows_of, write_signed
from tests.store.filled import everything

ON = date(2026, 11, 25)

CHANGES: dict[str, tuple[str, str, Any, str]] = {
    "a model refuses a body": ("children", "body/birth_month", "2019-99", "/body/birth_month"),
    "an unknown field": ("foods", "body/colour", "red", "/body/colour"),
    "a column unlike the body": ("children", "name", "somebody else", "/name"),
    "a day unlike the body": ("lunches", "day", "2020-01-01", "/day"),
    "a version below 1": ("lunches", "version", 0, "/version"),
    "rights that are none": ("access_keys", "rights", "everything", "/rights"),
    "a hash that is none": ("access_keys", "secret_hash", "x", "/secret_hash"),
    "a household that is not there": (
        "offers", "household_id", "00000000-0000-4000-8000-000000000000", "/household_id",
    ),
    "settings of the household": ("households", "body/retention_months", 100_000, "/body/retention_months"),
}  # fmt: skip
"""Table, place in the first row, another value, and the field that is named."""


def _changed(store: Store, tmp_path: Path, table: str, place: str, value: Any) -> tuple[Path, str]:
    """A signed backup in which the first row of a table is changed; and what it is called in a fault."""
    back_up(store, str(tmp_path / "whole"))
    head, rows = rows_of(tmp_path / "whole")
    number = next(n for n, row in enumerate(rows) if row[0] == table)
    column, _, field = place.partition("/")
    at = list(head["tables"][table]).index(column)
    if field:
        rows[number][1][at][field] = value
    else:
        rows[number][1][at] = value
    write_signed(tmp_path / "changed", head, rows)
    return tmp_path / "changed", f"line {number + 2}, {table}"


@pytest.mark.parametrize("what", CHANGES)
def test_a_row_that_cannot_be_used_is_named(store: Store, tmp_path: Path, what: str) -> None:
    """Table, line, field, value and remedy; nothing is changed."""
    keep_demo_household(store, ON)
    before = everything(store)
    table, place, value, field = CHANGES[what]
    file, named = _changed(store, tmp_path, table, place, value)
    with pytest.raises(LunchError) as told:
        restore(store, str(file), replace=True)
    sentence = fault_sentence(told.value)
    assert named in sentence
    assert f"cannot be used: {field} (" in sentence
    assert "nothing was restored" in sentence
    assert "--leave-out-unusable" in sentence
    assert everything(store) == before


def test_what_cannot_be_used_is_left_out_with_what_hangs_on_it(store: Store, tmp_path: Path) -> None:
    """A child whose record is spoilt: it goes with its lunches; the rest is there, and all that is gone is told."""
    demo = keep_demo_household(store, ON)
    before = everything(store)
    file, _named = _changed(store, tmp_path, "children", "body/birth_month", "2019-99")
    put = restore(store, str(file), replace=True, leave_out=True)
    after = everything(store)
    told = [fault_sentence(one) for one in put.left_out]
    gone = sum(map(len, before.values())) - sum(map(len, after.values()))
    assert len(told) == gone > 1
    assert len(after["children"]) == len(before["children"]) - 1
    assert 0 < len(after["lunches"]) < len(before["lunches"])
    assert all(set(after[table]) <= set(before[table]) for table in before)
    assert after["foods"] == before["foods"]
    assert recognise(store, demo.key) is not None
    assert restore(store, str(tmp_path / "whole"), replace=True).left_out == []
    assert everything(store) == before


def test_every_table_is_looked_at() -> None:
    """A table that is new has its place in ``restored_rows.py``: its rows are looked at before they are restored."""
    assert {*RESOURCES, HOUSEHOLDS, REMOVED, *OF_TABLE} == {*METADATA.tables}
    without_ids = {name for name, table in METADATA.tables.items() if "id" not in table.columns}
    assert {*ALONE} == without_ids
