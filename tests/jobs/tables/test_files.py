"""Tables in files: every format and block size gives the same answers; what is not a table is refused."""

import gzip
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from service.domain.errors import LunchError
from service.jobs.tables import columns
from service.jobs.tables.check_table import check_table
from service.jobs.tables.columns import MOST_NAMED, NEEDED, check_columns
from service.jobs.tables.files import chunks as table_chunks
from service.jobs.tables.files import lines as table_lines
from service.jobs.tables.files.run import check_file
from tests.jobs.tables.table_files import CSV, GOOD, KINDS, LINE, answers, rows_of, run, without_line, write
from tests.refused import refused


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("block", [None, 1700])
def test_every_format_gives_the_same_answers_as_the_frame(tmp_path: Path, kind: str, block: int | None) -> None:
    """In one block or in many, lunches straddling their borders."""
    rows = rows_of(40)
    expected = check_table(pd.DataFrame(rows))
    source = write(tmp_path / f"table.{kind}", rows)
    run(source, block=30 if kind == "parquet" and block else block)
    for found, frame in zip(answers(tmp_path), expected[:3], strict=True):
        pd.testing.assert_frame_equal(without_line(found), without_line(frame))
    shift = 1 if kind.startswith("csv") else 0
    assert (answers(tmp_path)[0]["line"] == expected.lunches["line"] + shift).all()
    assert (answers(tmp_path)[2]["line"] == expected.rejects["line"] + shift).all()


@pytest.mark.parametrize("kind", KINDS)
def test_every_format_is_written_with_the_same_figures(tmp_path: Path, kind: str) -> None:
    """Read back by pandas."""
    rows = rows_of(40)
    expected = check_table(pd.DataFrame(rows))
    run(write(tmp_path / "table.ndjson", rows), kind, block=2000)
    for found, frame in zip(answers(tmp_path, kind), expected[:3], strict=True):
        for name in frame.columns:
            ours, theirs = found[name].to_list(), frame[name].to_list()
            same = [one == other or (pd.isna(one) and pd.isna(other)) for one, other in zip(ours, theirs, strict=True)]
            assert all(same), name


@pytest.mark.parametrize("kind", ["csv", "ndjson", "csv.gz"])
def test_the_same_input_gives_the_same_bytes(tmp_path: Path, kind: str) -> None:
    """No time, no name and no number of threads goes into a file."""
    source = write(tmp_path / "table.csv", rows_of(30))
    written = []
    for _ in range(2):
        run(source, kind, block=900)
        written.append((tmp_path / f"lunches.{kind}").read_bytes())
    assert written[0] == written[1]


def test_the_summary_counts(tmp_path: Path) -> None:
    """Lunches by verdict, findings, rejected lunches and faults."""
    rows = rows_of(60)
    summary = run(write(tmp_path / "table.csv", rows), block=1500)
    expected = check_table(pd.DataFrame(rows))
    assert dict(summary.verdicts) == expected.lunches["verdict"].value_counts().to_dict()
    assert summary.findings == len(expected.findings)
    assert summary.faults == len(expected.rejects)
    assert summary.rejected == expected.rejects["lunch"].nunique()


# --- columns and files that are refused

REFUSED: dict[str, tuple[str, bytes, str]] = {
    "a column not known": ("t.csv", CSV.replace(b"unit", b"avoid") + GOOD, "Did you mean avoids"),
    "a column missing": ("t.csv", CSV.replace(b"food", b"form") + GOOD, "is a column that is missing"),
    "semicolons": ("t.csv", CSV.replace(b",", b";") + GOOD, "has a header without commas"),
    "an empty file": ("t.csv", b"", "is empty"),
    "an empty file of NDJSON": ("t.ndjson", b"", "is empty"),
    "blank lines only": ("t.ndjson.gz", gzip.compress(b"\n \n"), "is empty"),
    "a header in another code": ("t.csv", CSV.decode().encode("utf-16"), "has no header that can be read"),
    "another ending": ("t.xlsx", GOOD, "has an ending that names no kind of table"),
    "no gzip": ("t.csv.gz", CSV + GOOD, "is not a gzip file"),
    "a gzip file cut short": ("t.csv.gz", gzip.compress((CSV + GOOD) * 50)[:60], "is damaged or ends early"),
    "no Parquet": ("t.parquet", CSV + GOOD, "is not a Parquet file"),
}


@pytest.mark.parametrize(("name", "content", "reason"), REFUSED.values(), ids=REFUSED)
def test_a_file_that_is_no_table_is_refused(tmp_path: Path, name: str, content: bytes, reason: str) -> None:
    """And nothing is written."""
    source = tmp_path / name
    source.write_bytes(content)
    with refused(LunchError, match=reason):
        run(source)
    assert list(tmp_path.iterdir()) == [source]


def test_a_file_without_lines_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A JSON array on one line is one line too long for a row."""
    monkeypatch.setattr(table_lines, "LONGEST_LINE", 1000)
    source = tmp_path / "table.ndjson"
    source.write_text("[" + ",".join([(LINE % "A").strip()] * 50) + "]")
    with refused(LunchError, match="one JSON object a line"):
        run(source, block=600)


@pytest.mark.parametrize("block", [None, 1 << 20, 3 << 20])
@pytest.mark.parametrize("kind", ["csv", "ndjson"])
def test_a_line_of_five_megabytes_is_a_rejected_row_wherever_it_stands(
    tmp_path: Path, kind: str, block: int | None
) -> None:
    """Across the border of two blocks too; it takes the lunches next to it with it, and all others are checked."""
    line = LINE.encode().replace(b"%s", b"A") if kind == "ndjson" else GOOD
    names = [f"L{number}".encode() for number in range(6)]
    rows = [line.replace(b'"A"', b'"' + name + b'"') if kind == "ndjson" else name + line[1:] for name in names]
    rows.insert(3, rows[0].replace(b"apple", b"a" * 5_000_000))
    source = tmp_path / f"table.{kind}"
    source.write_bytes((CSV if kind == "csv" else b"") + b"".join(rows))
    run(source, block=block)
    lunches, _findings, rejects = answers(tmp_path)
    assert lunches["lunch"].to_list() == ["L0", "L1", "L4", "L5"]
    lost = rejects[rejects["lunch"].isna()]
    assert lost["line"].to_list() == [5 if kind == "csv" else 4]
    assert "of more than 1,048,576 bytes" in lost["reason"].iloc[0]


class CountedNames(Sequence[str]):
    """Names of columns that count how many of them are read: by going through them, and by ``in`` and ``count`` too."""

    def __init__(self, names: Sequence[str]) -> None:
        self.names, self.read = names, 0

    def __len__(self) -> int:
        return len(self.names)

    def __getitem__(self, place: Any) -> Any:
        self.read += 1
        return self.names[place]


def test_a_header_of_many_columns_is_refused_in_a_moment(monkeypatch: pytest.MonkeyPatch) -> None:
    """The work grows with the columns, not with their square: each is read a few times, and like names are looked for
    among few of them.
    """
    looked_for: list[str] = []
    monkeypatch.setattr(columns, "near_names", lambda name, _known: looked_for.append(name) or [])
    names = CountedNames([*(f"column{number}" for number in range(16_000)), *NEEDED])
    with refused(LunchError, match="'column20' is the first of 15,980 more columns that are not known"):
        check_columns(names)
    assert len(looked_for) == MOST_NAMED
    assert names.read <= (len(NEEDED) + 3) * (len(names) + 1)


@pytest.mark.parametrize("start", ["=", "+", "-", "@"])
def test_a_lunch_that_a_spreadsheet_would_run_is_marked_as_text(tmp_path: Path, start: str) -> None:
    """In CSV only, with an apostrophe in front (common practice); a lunch that is removed again is found so too."""
    source = tmp_path / "table.csv"
    first, other = start.encode() + b"1+1" + GOOD[1:], b"B" + GOOD[1:]
    source.write_bytes(CSV + first + other * 40 + first + b"C" + GOOD[1:])
    for kind, mark in (("csv", "'"), ("ndjson", "")):
        run(source, kind, block=200)
        lunches, _findings, rejects = answers(tmp_path, kind)
        assert lunches["lunch"].to_list() == ["B", "C"]
        assert rejects["lunch"].unique().tolist() == [f"{mark}{start}1+1"]
    source.write_bytes(CSV + first)
    run(source, "csv")
    assert answers(tmp_path, "csv")[0]["lunch"].to_list() == [f"'{start}1+1"]


def test_rows_in_which_no_lunch_ends_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Memory stays bounded, whatever the file."""
    monkeypatch.setattr(table_chunks, "MOST_CARRIED", 100)
    source = write(tmp_path / "table.csv", [{**row, "lunch": "same"} for row in rows_of(60)])
    with refused(LunchError, match="rows in which no lunch ends"):
        run(source, block=1000)


def test_parquet_with_other_types(tmp_path: Path) -> None:
    """Days, codes, lists of allergens, whole numbers as ids, pandas' own row numbers."""
    frame = pd.DataFrame(rows_of(12))
    odd = frame.assign(
        lunch=frame["lunch"].str[1:].astype(int),
        on=pd.to_datetime(frame["on"]).dt.date,
        food=frame["food"].astype("category"),
        avoids=frame["avoids"].str.split(";"),
        age_months=frame["age_months"].astype("Int64"),
    )
    odd.index = odd.index + 100
    odd.to_parquet(tmp_path / "table.parquet")
    run(tmp_path / "table.parquet")
    expected = check_table(frame.assign(lunch=frame["lunch"].str[1:].astype(int)))
    for found, one in zip(answers(tmp_path), expected[:3], strict=True):
        pd.testing.assert_frame_equal(found, one)


@pytest.mark.parametrize("column", ["avoids", "bans"])
def test_an_empty_entry_among_what_is_avoided_drops_nothing(tmp_path: Path, column: str) -> None:
    """A list with an entry that names nothing must not lose the entries beside it: its lunch is rejected."""
    frame = pd.DataFrame(rows_of(12))
    lists: list[list[str | None] | None] = [["peanut"]] * len(frame)
    last = frame["lunch"] == frame["lunch"].iloc[-1]
    for row in range(len(frame)):
        if last[row]:
            lists[row] = ["peanut", None]
    source = pa.Table.from_pandas(frame.drop(columns=["avoids", "bans"], errors="ignore"))
    pq.write_table(source.append_column(column, pa.array(lists, pa.list_(pa.string()))), tmp_path / "table.parquet")
    run(tmp_path / "table.parquet")
    lunches, _findings, rejected = answers(tmp_path)
    assert frame["lunch"].iloc[-1] not in set(lunches["lunch"])
    refused = rejected[rejected["lunch"] == frame["lunch"].iloc[-1]]
    assert list(refused["reason"]) == ["has an entry without text"] * int(last.sum())
    assert len(lunches) == frame["lunch"].nunique() - 2  # one has a fault of its own


def test_parquet_with_a_column_of_objects_rejects_its_rows(tmp_path: Path) -> None:
    """There is no text in it; as in NDJSON."""
    frame = pd.DataFrame(rows_of(3))
    frame["unit"] = [{"a": 1}] * len(frame)
    frame.to_parquet(tmp_path / "table.parquet")
    run(tmp_path / "table.parquet")
    lunches, _findings, rejects = answers(tmp_path)
    assert lunches.empty
    assert set(rejects["reason"]) == {"is neither text nor a number"}


def test_parquet_with_a_column_that_cannot_be_written_as_text_is_refused(tmp_path: Path) -> None:
    """The kind of the column is named."""
    table = pa.Table.from_pandas(pd.DataFrame(rows_of(3)).drop(columns="unit"))
    units = pa.array([b"\xff"] * table.num_rows, pa.binary())
    pq.write_table(table.append_column("unit", units), tmp_path / "table.parquet")
    with refused(LunchError, match="is a column of binary"):
        run(tmp_path / "table.parquet")


def test_files_of_one_run_must_differ(tmp_path: Path) -> None:
    """The last written would stand for both."""
    source = write(tmp_path / "table.csv", rows_of(3))
    with refused(LunchError, match="is the same file as FILE"):
        check_file(source, source, None, tmp_path / "r.csv", lambda _done: None)


def test_a_folder_in_the_place_of_a_file_is_told(tmp_path: Path) -> None:
    """Before anything is read, not when all is done."""
    source = write(tmp_path / "table.csv", rows_of(3))
    (tmp_path / "out.csv").mkdir()
    with refused(LunchError, match="is a folder"):
        check_file(source, tmp_path / "out.csv", None, tmp_path / "r.csv", lambda _done: None)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["out.csv", "table.csv"]


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    """Before anything is read."""
    source = write(tmp_path / "table.csv", rows_of(3))
    with refused(LunchError, match="cannot be written"):
        check_file(source, tmp_path / "none" / "out.csv", None, tmp_path / "r.csv", lambda _done: None)
    assert list(tmp_path.iterdir()) == [source]
