"""Promise: an export holds all of a household; taken into an empty store and exported again it is the same bytes."""

import csv
import io
import json
import os
import stat
import zipfile
from pathlib import Path
from uuid import UUID

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from service.domain.errors import AlreadyThere, LunchError, NotThere
from service.jobs.household.transfer.csv import as_tables, cell, from_tables, value_of
from service.jobs.household.transfer.export_household import export_household, read_household, the_household, write_zip
from service.jobs.household.transfer.import_household import import_household, read_export
from service.jobs.household.transfer.json import as_json, from_json
from service.jobs.household.transfer.whole_household import WholeHousehold
from service.reference.fault_words import fault_sentence, fault_words
from service.store.access.households import create_household, create_key, remove_household
from service.store.database import Store
from tests.refused import refused
from tests.store.filled import everything
from tests.store.whole_households import AWKWARD, one_of_each, whole_households
from tests.strategies import LAW

ONE_STORE = settings(
    LAW, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow, HealthCheck.data_too_large]
)
FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""Beginnings of a cell that spreadsheets take for a formula: OWASP, CSV Injection."""


@pytest.fixture
def whole() -> WholeHousehold:
    """One household with something of every kind."""
    return one_of_each()


@pytest.mark.property
@given(drawn=whole_households())
@ONE_STORE
def test_the_same_bytes_again(store: Store, drawn: WholeHousehold) -> None:
    """JSON and CSV, through the store and back, twice; CSV and JSON hold the same."""
    first, tables = as_json(drawn), as_tables(drawn)
    assert from_json("x", first) == drawn
    assert from_tables("x", tables) == drawn
    for whole in (from_json("x", first), from_tables("x", tables)):
        household = import_household(store, whole)
        again = read_household(store, household)
        assert as_json(again) == first
        assert as_tables(again) == tables
        with store.writing() as connection:
            remove_household(connection, household)


@pytest.mark.property
@given(drawn=whole_households())
@settings(LAW, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
def test_no_cell_is_a_formula(drawn: WholeHousehold) -> None:
    """Read with Python's csv module, no cell of any file begins as a formula does."""
    for content in as_tables(drawn).values():
        for row in csv.reader(io.StringIO(content.decode(), newline="")):
            assert not [text for text in row if text.startswith(FORMULA)]


JSON_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"])) | st.sampled_from(AWKWARD) | st.sampled_from(["\t=1", "\r", "\n", ""]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(st.characters(exclude_categories=["Cs"])), inner, max_size=3),
    max_leaves=8,
)  # fmt: skip


@pytest.mark.property
@given(value=JSON_VALUES)
@example(value=-5)
@example(value="-5")
@example(value="'#-5")
@settings(LAW, max_examples=300)
def test_a_cell_gives_back_its_value(value: object) -> None:
    """Any JSON value: type and all, never empty, never a formula."""
    written = cell(value)
    assert repr(value_of(written)) == repr(value)
    assert written != ""
    assert not written.startswith(FORMULA)


def test_files_folders_and_zips(store: Store, whole: WholeHousehold, tmp_path: Path) -> None:
    """All three kinds of export are files for their owner only, and are taken in again to the same bytes."""
    household = import_household(store, whole)
    before = os.umask(0)
    try:
        for name in ("one.json", "folder", "one.zip"):
            export_household(store, household, str(tmp_path / name), as_csv=name != "one.json")
    finally:
        os.umask(before)
    for file in (tmp_path / "one.json", tmp_path / "one.zip", *(tmp_path / "folder").iterdir()):
        assert stat.S_IMODE(file.stat().st_mode) == 0o600, file
    first = (tmp_path / "one.json").read_bytes()
    for name in ("one.json", "folder", "one.zip"):
        assert as_json(read_export(str(tmp_path / name))) == first
    zipped = io.BytesIO()
    write_zip(zipped, as_tables(whole), [])
    assert (tmp_path / "one.zip").read_bytes() == zipped.getvalue()
    with zipfile.ZipFile(tmp_path / "one.zip") as archive:
        assert archive.testzip() is None
    assert sorted(one.name for one in (tmp_path / "folder").iterdir()) == sorted(as_tables(whole))


def test_keys_and_other_households_stay_out(store: Store, whole: WholeHousehold) -> None:
    """Neither a key's hash nor anything of another household is in an export."""
    household = import_household(store, whole)
    with store.writing() as connection:
        other = create_household(connection, {"name": "the neighbours"})
        _, secret = create_key(connection, household, "kitchen tablet", "keep")
        create_key(connection, other, "other tablet", "keep")
    written = as_json(read_household(store, household))
    for word in ("neighbours", "tablet", secret, "secret_hash"):
        assert word.encode() not in written


def test_into_an_empty_household(store: Store, whole: WholeHousehold) -> None:
    """It keeps its own id and its keys."""
    with store.writing() as connection:
        empty = create_household(connection, {"name": "new"})
        create_key(connection, empty, "first", "keep")
    assert import_household(store, whole, empty) == empty
    there = read_household(store, empty)
    assert there.records == whole.records
    assert there.household.body == whole.household.body
    assert the_household(store, None) == empty


def test_not_over_what_is_there(store: Store, whole: WholeHousehold) -> None:
    """A second time, into a full one, or into none: refused, and nothing is touched."""
    import_household(store, whole)
    with store.writing() as connection:
        empty = create_household(connection, {"name": "new"})
    before = everything(store)
    with refused(AlreadyThere, match="keeps records already"):
        import_household(store, whole)
    with refused(AlreadyThere, match="kept by another household"):
        import_household(store, whole, empty)
    with pytest.raises(NotThere):
        import_household(store, whole, UUID(int=7))
    assert everything(store) == before


def test_all_or_nothing(store: Store, whole: WholeHousehold) -> None:
    """The last record of the last kind does not fit (its day is taken): nothing of the rest is kept."""
    lunch = whole.records["lunches"][0]
    doubled = lunch._replace(id=UUID(int=9))
    bad = whole._replace(records={**whole.records, "lunches": [*whole.records["lunches"], doubled]})
    before = everything(store)
    with pytest.raises(AlreadyThere):
        import_household(store, bad)
    assert everything(store) == before


def _edited(whole: WholeHousehold, edit: str) -> bytes:
    """The JSON export after an edit by hand."""
    found = json.loads(as_json(whole))
    lunch = next(one for one in found["lunches"] if one["body"]["kind"] == "packed")
    match edit:
        case "day":
            lunch["body"]["date"] = "2026-02-30"
        case "field":
            lunch["body"]["colour"] = "green"
        case "child":
            lunch["body"]["child"] = "00000000-0000-4000-8000-000000000000"
        case "twice":
            found["children"].append(dict(found["children"][0]))
        case "version":
            lunch["version"] = 0
        case "moment":
            lunch["created_at"] = "yesterday"
        case "id":
            lunch["id"] = "7"
    return json.dumps(found, indent=2, ensure_ascii=False).encode()


@pytest.mark.parametrize(
    ("edit", "field", "value", "remedy"),
    [
        ("day", "/body/date", "2026-02-30", "YYYY-MM-DD"),
        ("field", "/body/colour", "green", "Remove it"),
        ("child", "/body/child", "00000000-0000-4000-8000-000000000000", "Add what it names"),
        ("twice", "/children/", "", "Keep one of the two"),
        ("version", "/version", "0", "as 'packed-lunch export' wrote it"),
        ("moment", "/created_at", "yesterday", "as 'packed-lunch export' wrote it"),
        ("id", "/id", "7", "as 'packed-lunch export' wrote it"),
    ],
)
def test_a_bad_json_file_is_told_by_line_field_value_and_remedy(
    whole: WholeHousehold, edit: str, field: str, value: str, remedy: str
) -> None:
    """The line is that of the record, counted here in the file itself."""
    content = _edited(whole, edit)
    with pytest.raises(LunchError) as told:
        from_json("kitchen.json", content)
    fault = told.value
    assert field in fault.pointer
    assert value in str(fault.value)
    assert remedy in fault_words(fault).remedy
    line = int(fault.pointer.split("line ")[1].split(",")[0])
    assert '"id": ' in content.decode().splitlines()[line - 1]


@pytest.mark.parametrize(
    ("content", "line"),
    [(b'{\n "a": 1,\n oops\n}', 3), (b"", 1), (b"\xff\xfe", 1), (b"[]", 1), (b'{"packed_lunch_export": 2}', 1)],
)
def test_what_is_no_export_is_told_by_its_line(content: bytes, line: int) -> None:
    """Broken, empty, no text, something else, another shape."""
    with refused(LunchError, match=rf"kitchen.json, line {line}\b"):
        from_json("kitchen.json", content)


def test_a_field_that_stands_twice_is_refused(whole: WholeHousehold) -> None:
    """A second list of allergens would drop the first without a word."""
    content = as_json(whole).replace(b'"avoids": ', b'"avoids": [], "avoids": ', 1)
    with refused(LunchError, match="twice"):
        from_json("kitchen.json", content)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (b",kind,", b",sort,", "lunches.csv, line 1"),
        (b",packed,", b",picnic,", "/kind"),
        (b"\r\n", b"\r\n1,2\r\n", "lunches.csv, line 2"),
        (b"\r\n", b'\r\n"', "is not CSV"),
    ],
)
def test_a_bad_table_is_told_by_file_and_line(whole: WholeHousehold, old: bytes, new: bytes, told: str) -> None:
    """A column renamed, a word unknown, a row too short, quotes not closed."""
    files = as_tables(whole)
    assert old in files["lunches.csv"]
    files["lunches.csv"] = files["lunches.csv"].replace(old, new, 1)
    with pytest.raises(LunchError) as fault:
        from_tables("folder", files)
    assert told in fault_sentence(fault.value)
    assert fault_words(fault.value).remedy


def test_a_missing_table_is_told(whole: WholeHousehold) -> None:
    """Without the children there is nothing to hang the lunches on."""
    files = as_tables(whole)
    del files["children.csv"]
    with refused(LunchError, match=r"children\.csv"):
        from_tables("folder", files)


def test_which_household_is_meant(store: Store) -> None:
    """The only one, or the one named."""
    with refused(LunchError, match="household make"):
        the_household(store, None)
    with store.writing() as connection:
        one = create_household(connection, {})
    assert the_household(store, None) == one
    with store.writing() as connection:
        two = create_household(connection, {})
    with refused(LunchError, match="2 is the number of households"):
        the_household(store, None)
    assert the_household(store, str(two)) == two
    with pytest.raises(NotThere):
        the_household(store, "nothing")
