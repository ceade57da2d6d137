"""Checks a whole file of lunches: reads, checks and writes chunk by chunk, here or on other machines."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TypeVar

import pandas as pd
import pyarrow as pa

from service.domain.errors import BadInput
from service.domain.foods.packets import NOTHING_KNOWN_OF_FOODS, KnownOfFoods
from service.domain.messages import message
from service.jobs.tables.check_table import CheckedTable, check_table
from service.jobs.tables.columns import NEEDED
from service.jobs.tables.files.chunks import LunchesGoneBy, frames
from service.jobs.tables.files.csv import csv_blocks
from service.jobs.tables.files.lines import Progress
from service.jobs.tables.files.ndjson import ndjson_blocks
from service.jobs.tables.files.parquet import parquet_blocks
from service.jobs.tables.files.write import TableFile, format_of

Item = TypeVar("Item")
Checker = Callable[[Iterable["pd.DataFrame"], bool], Iterator[CheckedTable]]


@dataclass(slots=True)
class TableSummary:
    """The result of a file: lunches by verdict, findings written, lunches rejected and the faults reported."""

    verdicts: Counter[str] = field(default_factory=Counter)
    findings: int = 0
    rejected: int = 0
    faults: int = 0
    cautions: list[pd.DataFrame] = field(default_factory=list)
    """What is to be said of the foods, part by part."""


class Targets(list[TableFile]):
    """The files of a run; nothing is left of them where it fails."""

    def __enter__(self) -> Targets:
        return self

    def __exit__(self, kind: type[BaseException] | None, *_rest: object) -> None:
        if kind is not None:
            for file in self:
                file.give_up()

    def add(self, path: Path, pointer: str) -> TableFile:
        """Begin another file."""
        self.append(TableFile(path, pointer))
        return self[-1]

    def put_in_place(self) -> None:
        """End all files, then give each its name."""
        for file in self:
            file.close()
        for file in self:
            file.put_in_place()


def check_file(
    source: Path,
    out: Path,
    findings: Path | None,
    rejects: Path,
    progress: Progress,
    checked: Checker | None = None,
    block: int | None = None,
    known: KnownOfFoods = NOTHING_KNOWN_OF_FOODS,
    yardsticks: Sequence[str] = (),
) -> TableSummary:
    """Check the lunches of a file and write what is found.

    Parameters
    ----------
    progress: called with the bytes of the file read so far.
    checked: how frames become answers, in their order; left out: here.
    block: bytes (of Parquet: rows) read at a time, for tests.
    known, yardsticks: what is known of foods, and what lunches are shown beside, where they are checked here; see
        ``check_table``.

    Raises ``LunchError`` for a file that cannot be read as a table; then nothing is written.
    """
    _different({"FILE": source, "--out": out, "--findings": findings, "--rejects": rejects})
    blocks = blocks_of(source, progress, block)
    gone_by, summary = LunchesGoneBy(), TableSummary()
    with Targets() as files:
        lunches_file = files.add(out, "--out")
        findings_file = None if findings is None else files.add(findings, "--findings")
        rejects_file = files.add(rejects, "--rejects")
        chunks = ahead(frames(blocks, gone_by))
        answers = (checked or partial(check_here, known=known, yardsticks=yardsticks))(chunks, findings is not None)
        with ThreadPoolExecutor(1) as writing:
            written: Future[None] | None = None
            for one in answers:
                summary.verdicts.update(one.lunches["verdict"].to_list())
                summary.faults += len(one.rejects)
                summary.rejected += one.rejects["lunch"].nunique()
                summary.cautions.append(one.cautions)
                if written is not None:
                    written.result()
                written = writing.submit(_write, one, lunches_file, findings_file, rejects_file)
            if written is not None:
                written.result()
            else:
                _write(check_table(empty_frame()), lunches_file, findings_file, rejects_file)
        if gone_by.again:
            summary.verdicts.subtract(Counter(row["verdict"] for row in lunches_file.take_out(gone_by.again)))
            if findings_file is not None:
                findings_file.take_out(gone_by.again)
        summary.findings = 0 if findings_file is None else findings_file.rows
        files.put_in_place()
    return summary


def _write(one: CheckedTable, lunches: TableFile, findings: TableFile | None, rejects: TableFile) -> None:
    lunches.write(one.lunches)
    if findings is not None:
        findings.write(one.findings)
    rejects.write(one.rejects)


def empty_frame() -> pd.DataFrame:
    """A table without rows, whose answer has the columns of every other."""

    return pd.DataFrame({name: pd.Series([], dtype="str") for name in NEEDED})


def blocks_of(source: Path, progress: Progress, block: int | None = None) -> Iterator[pa.Table]:
    """The rows of a file in blocks, by the ending of its name."""
    kind = format_of(source, "FILE")
    if kind == "csv":
        return csv_blocks(source, progress, block)
    if kind == "ndjson":
        return ndjson_blocks(source, progress, block)
    return parquet_blocks(source, progress, block)


def check_here(
    chunks: Iterable[pd.DataFrame],
    with_findings: bool,
    known: KnownOfFoods = NOTHING_KNOWN_OF_FOODS,
    yardsticks: Sequence[str] = (),
) -> Iterator[CheckedTable]:
    """Check frames one after the other in this process."""
    for chunk in chunks:
        yield check_table(chunk, with_findings, known, yardsticks)


def ahead(items: Iterator[Item]) -> Iterator[Item]:
    """The items in their order, the next one made in another thread meanwhile."""
    nothing = object()
    with ThreadPoolExecutor(1) as reading:
        pending: Future[Item | object] = reading.submit(next, items, nothing)
        while (item := pending.result()) is not nothing:
            pending = reading.submit(next, items, nothing)
            yield item  # type: ignore[misc]  # it is not the mark of the end


def _different(paths: dict[str, Path | None]) -> None:
    """Refuse two names for one file: the last written would stand for both."""
    known: dict[Path, str] = {}
    for pointer, path in paths.items():
        if path is None:
            continue
        place = path.resolve()
        if place in known:
            raise BadInput(
                pointer=pointer,
                value=str(path),
                problem=message("fault.same-file-twice", other=known[place]),
            )
        known[place] = pointer
