"""Lines of CSV and NDJSON: what cannot be read is told with its line, and the quick ways read what the slow ones do."""

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.jobs.tables.files.csv import _one_by_one as csv_one_by_one
from service.jobs.tables.files.csv import _quick as csv_quick
from service.jobs.tables.files.lines import LineBlock
from service.jobs.tables.files.ndjson import _by_columns, _one_by_one
from tests.jobs.tables.table_files import CSV, GOOD, LINE, Row, answers, run
from tests.strategies import LAW

ODD_CSV: dict[str, tuple[bytes, list[str], list[tuple[int, str]]]] = {
    "line ends of Windows": (CSV + GOOD.replace(b"\n", b"\r\n") * 2, ["A"], []),
    "no line end at the end": (CSV + GOOD.strip(), ["A"], []),
    "a mark of UTF-8": (b"\xef\xbb\xbf" + CSV + GOOD, ["A"], []),
    "blank lines": (CSV + b"\n" + GOOD + b"\n  \n" + GOOD, ["A"], []),
    "blank rows of a spreadsheet": (CSV + GOOD + b",,,,,\r\n" + b"B" + GOOD[1:] + b" ,,,,, \n" * 2, ["A", "B"], []),
    "blank rows and a quote": (CSV + GOOD + b',,"",,,\n' + b'"B ""2"""' + GOOD[1:] + b",,,,,\n", ["A", 'B "2"'], []),
    "blank rows only": (CSV + b",,,,,\n" * 3, [], []),
    "a blank row in a lunch": (CSV + GOOD + b",,,,,\n" + GOOD, ["A"], []),
    "quotes": (CSV + GOOD.replace(b"apple,", b'"apple",') + b'"B"' + GOOD[1:], ["A", "B"], []),
    "a comma in quotes": (CSV + GOOD + b'"B,1"' + GOOD[1:], ["A", "B,1"], []),
    "too few cells": (
        CSV + GOOD + b"B,us-school-lunch\n" + b"C" + GOOD[1:] + b"D" + GOOD[1:],
        ["D"],
        [(3, "has 2 cells")],
    ),
    "a quote left open": (
        CSV + GOOD + b"B" + GOOD[1:] + b'"C,x\n' + b"D" + GOOD[1:] + b"E" + GOOD[1:],
        ["A", "E"],
        [(4, "is not CSV")],
    ),
    "no UTF-8": (CSV + GOOD + b"B" + GOOD[1:] + b"C\xff" + GOOD[1:], ["A"], [(4, "is not UTF-8 text")]),
    "accents": (CSV + "Zoë".encode() + GOOD[1:], ["Zoë"], []),
}


@pytest.mark.parametrize(("content", "kept", "told"), ODD_CSV.values(), ids=ODD_CSV)
def test_odd_lines_of_csv(tmp_path: Path, content: bytes, kept: list[str], told: list[tuple[int, str]]) -> None:
    """A line that cannot be read is told with its number, and takes the lunches next to it with it."""
    source = tmp_path / "table.csv"
    source.write_bytes(content)
    run(source)
    lunches, _findings, rejects = answers(tmp_path)
    assert lunches["lunch"].to_list() == kept
    lost = rejects[rejects["lunch"].isna()]
    assert [line for line, _reason in told] == lost["line"].to_list()
    for (_line, reason), found in zip(told, lost["reason"], strict=True):
        assert found.startswith(reason)


ODD_NDJSON: dict[str, tuple[str, list[str], list[tuple[int, str]]]] = {
    "plain": (LINE % "A" + LINE % "B", ["A", "B"], []),
    "spaces": (
        (LINE % "A").replace(":", " : ").replace(",", " , ") + (LINE % "B").replace('",', '" ,'),
        ["A", "B"],
        [],
    ),
    "other order of keys": (
        LINE % "A" + json.dumps(dict(sorted(json.loads(LINE % "B").items()))) + "\n",
        ["A", "B"],
        [],
    ),
    "other keys": (LINE % "A" + (LINE % "B").replace("}", ',"unit":"g","quantity":100}'), ["A", "B"], []),
    "a comma in a value": (LINE % "A" + LINE % "B, the second", ["A", "B, the second"], []),
    "escapes": (LINE % '\\u0041\\"' + LINE % "B", ['A"', "B"], []),
    "the same in other words": (LINE % "A" + (LINE % "A").replace("apple", "\\u0061pple"), ["A"], []),
    "numbers as ids": ((LINE % "1").replace('"1"', "1") + (LINE % "2").replace('"2"', "2.0"), ["1", "2"], []),
    "null": (LINE % "A" + (LINE % "B").replace("}", ',"unit":null}'), ["A", "B"], []),
    "a list of allergens": (LINE % "A" + (LINE % "B").replace("}", ',"avoids":["milk","egg"]}'), ["A", "B"], []),
    "blank lines": (LINE % "A" + "\n \n" + LINE % "B", ["A", "B"], []),
    "no JSON": (LINE % "A" + LINE % "B" + "nonsense\n" + LINE % "C" + LINE % "D", ["A", "D"], [(3, "is not JSON")]),
    "two objects on a line": (
        LINE % "A" + LINE % "B" + (LINE % "C").strip() + LINE % "D" + LINE % "E" + LINE % "F",
        ["A", "F"],
        [(3, "is not JSON")],
    ),
    "no object": (
        LINE % "A" + LINE % "B" + "[1,2,3,4,5]\n" + LINE % "C" + LINE % "D",
        ["A", "D"],
        [(3, "is not a JSON object")],
    ),
}


@pytest.mark.parametrize(("content", "kept", "told"), ODD_NDJSON.values(), ids=ODD_NDJSON)
def test_odd_lines_of_ndjson(tmp_path: Path, content: str, kept: list[str], told: list[tuple[int, str]]) -> None:
    """As in JSON, whatever the order of keys, the spaces and the escapes."""
    source = tmp_path / "table.ndjson"
    source.write_text(content)
    run(source)
    lunches, _findings, rejects = answers(tmp_path)
    assert lunches["lunch"].to_list() == kept
    lost = rejects[rejects["lunch"].isna()]
    assert [line for line, _reason in told] == lost["line"].to_list()
    for (_line, reason), found in zip(told, lost["reason"], strict=True):
        assert found.startswith(reason)


@pytest.mark.parametrize(
    ("more", "field", "reason"),
    [
        (',"avoid":"peanut"', "avoid", "is not a column here"),
        (',"food":"apple"', "food", "appears twice in the same row"),
        (',"unit":["g"]', "unit", "is neither text nor a number"),
        (',"form":{"cut":"whole"}', "form", "is neither text nor a number"),
    ],
)
def test_a_row_of_ndjson_with_an_odd_key_rejects_its_lunch_alone(
    tmp_path: Path, more: str, field: str, reason: str
) -> None:
    """Its lunch can be told, so its neighbours are kept."""
    source = tmp_path / "table.ndjson"
    source.write_text(LINE % "A" + (LINE % "B").replace("}", more + "}") + LINE % "C")
    run(source)
    lunches, _findings, rejects = answers(tmp_path)
    assert lunches["lunch"].to_list() == ["A", "C"]
    assert rejects[["line", "lunch", "field", "reason"]].to_numpy().tolist() == [[2, "B", field, reason]]


CELLS = st.one_of(
    st.sampled_from(["apple", "L1", "g", "", " x ", "a,b", 'say "so"', "{", "}", '"', "\\", "ü", "\u2028"]),
    st.integers(-5, 200),
    st.floats(allow_nan=False, allow_infinity=False, width=32),
    st.none(),
    st.booleans(),
    st.just(["milk"]),
)
OBJECTS = st.fixed_dictionaries(
    {"lunch": CELLS, "food": CELLS}, optional={"quantity": CELLS, "avoids": CELLS, "odd": CELLS}
)


def table_of(block: Any) -> list[Row]:
    """A block as rows."""
    found: list[Row] = [{name: cell for name, cell in row.items() if cell is not None} for row in block.to_pylist()]
    return found


@given(st.lists(OBJECTS, min_size=1, max_size=6), st.booleans())
@LAW
def test_ndjson_read_by_columns_is_read_line_by_line(objects: list[Row], spaced: bool) -> None:
    """The quick way gives the rows of the slow one, or gives up."""
    separators = (", ", ": ") if spaced else (",", ":")
    text = "".join(json.dumps(one, separators=separators, ensure_ascii=False) + "\n" for one in objects).encode()
    block = LineBlock(1, text, len(objects))
    quick = _by_columns(block)
    if quick is not None:
        assert table_of(quick) == table_of(_one_by_one(block))


@given(st.lists(st.text(alphabet='ab,"\n\r {}:\\', max_size=12), min_size=1, max_size=5))
@LAW
def test_broken_ndjson_is_never_read_by_columns_as_something_else(lines: list[str]) -> None:
    """Whatever bytes: what the quick way accepts is what JSON says."""
    text = "".join(line.replace("\n", "") + "\n" for line in lines).encode()
    block = LineBlock(1, text, len(lines))
    quick = _by_columns(block)
    if quick is not None:
        assert table_of(quick) == table_of(_one_by_one(block))


@given(st.lists(st.lists(st.text(alphabet='ab, "\r', max_size=5), min_size=1, max_size=4), min_size=1, max_size=5))
@LAW
def test_csv_read_at_once_is_read_line_by_line(lines: list[list[str]]) -> None:
    """Quotes, spaces and wrong numbers of cells."""
    text = "".join(",".join(cells) + "\n" for cells in lines).encode()
    block = LineBlock(2, text, text.count(b"\n"))
    header = ["lunch", "food", "unit"]
    quick = csv_quick(block, header)
    if quick is not None:
        assert table_of(quick) == table_of(csv_one_by_one(block, header))


def test_the_quick_ways_are_taken() -> None:
    """For tables as programs write them; else the two laws above would hold for nothing."""
    text = (LINE % "A" + LINE % "B").encode()
    assert _by_columns(LineBlock(1, text, 2)) is not None
    assert csv_quick(LineBlock(2, GOOD, 1), CSV.decode().strip().split(",")) is not None
