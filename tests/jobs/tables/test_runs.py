"""Runs over whole files: lunches that come up again, bounded frames, and runs that fail leave what was there."""

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.errors import LunchError
from service.jobs.tables.check_table import CheckedTable, check_table
from service.jobs.tables.files.chunks import LunchesGoneBy, frames
from service.jobs.tables.files.run import blocks_of, check_file
from tests.jobs.tables.table_files import KINDS, LINE, answers, rows_of, run, write
from tests.refused import refused

ROOT_READS_ALL = os.geteuid() == 0 if hasattr(os, "geteuid") else False


@pytest.mark.parametrize("kind", KINDS)
def test_a_lunch_that_comes_up_again_much_later_is_taken_out_again(tmp_path: Path, kind: str) -> None:
    """Its first part was judged and written before the second was read; all others are as if it were not there."""
    rows, again = rows_of(24), rows_of(1, first=3)
    source = write(tmp_path / "table.ndjson", [*rows, *again, *rows_of(5, first=50)])
    summary = run(source, kind, block=2500)
    lunches, findings, rejects = answers(tmp_path, kind)
    assert "L00003" not in set(lunches["lunch"]) | set(findings["lunch"])
    told = rejects[rejects["lunch"] == "L00003"]
    assert told["line"].to_list() == [len(rows) + 1]
    assert told["reason"].to_list() == ["stands in more than one place of the table"]
    others = [row for row in [*rows, *rows_of(5, first=50)] if row["lunch"] != "L00003"]
    expected = check_table(pd.DataFrame(others))
    assert lunches["lunch"].to_list() == expected.lunches["lunch"].to_list()
    assert lunches["verdict"].to_list() == expected.lunches["verdict"].to_list()
    assert summary.verdicts.total() == len(lunches)
    assert summary.findings == len(findings)


@given(st.lists(st.lists(st.integers(0, 300), min_size=1, max_size=60, unique=True), max_size=12))
def test_lunches_gone_by_are_remembered(calls: list[list[int]]) -> None:
    """Against a set."""
    gone_by, known = LunchesGoneBy(), set[int]()
    for call in calls:
        assert gone_by.seen_before([f"lunch {one}" for one in call]).tolist() == [one in known for one in call]
        known.update(call)


def test_frames_stay_small(tmp_path: Path) -> None:
    """However long the file: a frame holds a block and at most one lunch more."""
    source = write(tmp_path / "table.csv", rows_of(600))
    sizes = [len(frame) for frame in frames(blocks_of(source, lambda _done: None, 2000), LunchesGoneBy())]
    assert sum(sizes) == 1500
    assert max(sizes) < 40


def test_a_lost_row_at_a_block_border_still_rejects_both_neighbours(tmp_path: Path) -> None:
    """Wherever the blocks are cut."""
    lines = [LINE % f"A{n}" for n in range(6)]
    lines[3] = "nonsense\n"
    source = tmp_path / "table.ndjson"
    source.write_text("".join(lines))
    for block in (40, 101, 150, 210, 303, 317, 330, 404):
        run(source, block=block)
        assert answers(tmp_path)[0]["lunch"].to_list() == ["A0", "A1", "A5"], block


def test_a_run_that_fails_leaves_what_was_there(tmp_path: Path) -> None:
    """And nothing next to it."""

    def failing(chunks: Iterator[pd.DataFrame], with_findings: bool) -> Iterator[CheckedTable]:
        yield check_table(next(chunks), with_findings)
        raise RuntimeError("in the middle")

    source = write(tmp_path / "table.csv", rows_of(50))
    run(source)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    with pytest.raises(RuntimeError, match="in the middle"):
        run(source, block=500, checked=failing)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_a_run_that_fails_in_taking_rows_out_again_leaves_what_was_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Then two files lie next to the place, and neither stays."""

    def failing(*_given: Any) -> Iterator[bytes]:
        yield b"half a line"
        raise OSError(28, "No space left on device")

    source = write(tmp_path / "table.csv", [*rows_of(24), *rows_of(1, first=3)])
    (tmp_path / "lunches.csv").write_text("what was there before")
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    monkeypatch.setattr("service.jobs.tables.files.write._csv_lines", failing)
    with refused(LunchError, match=r"cannot be written \(No space left on device\)"):
        run(source, "csv", block=1000)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


@pytest.mark.skipif(ROOT_READS_ALL, reason="root may read every file")
def test_a_file_that_may_not_be_read_is_told(tmp_path: Path) -> None:
    """With the system's reason."""
    source = write(tmp_path / "table.csv", rows_of(2))
    source.chmod(0)
    with refused(LunchError, match="cannot be read"):
        run(source)


def test_progress_reaches_the_size_of_the_file(tmp_path: Path) -> None:
    """In bytes of the file, packed or not."""
    for kind in KINDS:
        source = write(tmp_path / f"table.{kind}", rows_of(16))
        seen: list[int] = []
        told: Callable[[int], None] = seen.append
        check_file(source, tmp_path / "o.csv", None, tmp_path / "r.csv", told, block=20 if kind == "parquet" else 1500)
        assert seen == sorted(seen)
        assert seen[-1] == source.stat().st_size
