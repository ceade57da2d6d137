"""Writes tables of answers as CSV, NDJSON or Parquet, by the ending of the file's name.

Each is written next to its place under another name and put there at the end, all files of a run together: a run
that is stopped leaves what was there before. For their owner only (mode 0600): they say what children eat.
"""

from __future__ import annotations

import csv
import fcntl
import glob
import gzip
import os
import re
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, Any

import numpy as np
import orjson
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.csv as pa_csv
import pyarrow.parquet as pq

from service.domain.errors import BadInput
from service.domain.messages import message
from service.jobs.formula_marks import FORMULA_STARTS, QUOTE, marked

COMMA = ord(",")
FORMULA = f"^[{re.escape(''.join(FORMULA_STARTS))}]"
FIRST_CELL = re.compile(rb'\{"lunch":("(?:[^"\\]|\\.)*")')
ENDINGS = (".csv", ".csv.gz", ".ndjson", ".ndjson.gz", ".jsonl", ".jsonl.gz", ".parquet")


def format_of(path: Path, pointer: str) -> str:
    """``csv``, ``ndjson`` or ``parquet``; ``BadInput`` for another ending."""
    name = path.name.lower().removesuffix(".gz")
    if not path.name.lower().endswith(ENDINGS):
        raise BadInput(
            pointer=pointer,
            value=str(path),
            problem=message("fault.no-kind-of-table", endings=list(ENDINGS)),
        )
    return "csv" if name.endswith(".csv") else "parquet" if name.endswith(".parquet") else "ndjson"


class TableFile:
    """One table being written next to its place; ``put_in_place`` at the end, or ``give_up``.

    ``rows``: how many rows were written.
    """

    def __init__(self, path: Path, pointer: str) -> None:
        self.path = path
        self.rows = 0
        self._kind = format_of(path, pointer)
        self._schema: pa.Schema | None = None
        self._parquet: Any = None
        self._pointer = pointer
        if path.is_dir():
            raise BadInput(pointer=pointer, value=str(path), problem=message("fault.file-is-folder"))
        self._parts: list[Path] = []
        with self._report_faults():
            self._remove_leftovers()
            self._raw = self._begun()
        self._to = self._packed(self._raw)

    @contextmanager
    def _report_faults(self) -> Iterator[None]:
        """Report what the system says of a file that cannot be written, such as a full disk."""
        try:
            yield
        except OSError as fault:
            raise BadInput(
                pointer=self._pointer,
                value=str(self.path),
                problem=message("fault.file-not-written", reason=fault.strerror or str(fault)),
            ) from fault

    def _remove_leftovers(self) -> None:
        """Remove what killed runs left; a run that still goes on holds the lock of its own."""
        for part in self.path.parent.glob(f".{glob.escape(self.path.name)}.????????.part"):
            with part.open("rb") as left, suppress(BlockingIOError):
                fcntl.flock(left, fcntl.LOCK_EX | fcntl.LOCK_NB)
                part.unlink(missing_ok=True)

    def _begun(self) -> IO[bytes]:
        """Begin a file next to the place; ``_parts`` are those that are there."""
        handle, name = tempfile.mkstemp(prefix=f".{self.path.name}.", suffix=".part", dir=self.path.parent)
        self._parts.append(Path(name))
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        return os.fdopen(handle, "wb")

    def _packed(self, raw: IO[bytes]) -> IO[bytes]:
        """The same bytes for the same rows: no name and no time go into a gzip file."""
        if not self.path.name.lower().endswith(".gz"):
            return raw
        return gzip.GzipFile(filename="", mode="wb", fileobj=raw, mtime=0, compresslevel=6)  # type: ignore[return-value]

    def write(self, frame: pd.DataFrame) -> None:
        """Add the rows of a frame."""
        table = arrow_table(frame)
        first = self._schema is None
        self._schema = self._schema or table.schema
        self.rows += table.num_rows
        with self._report_faults():
            if self._kind == "csv":
                pa_csv.write_csv(with_formulas_marked(table), self._to, pa_csv.WriteOptions(include_header=first))
            elif self._kind == "ndjson":
                self._to.write(ndjson(table))
            else:
                self._parquet = self._parquet or pq.ParquetWriter(self._to, self._schema)
                self._parquet.write_table(table)

    def close(self) -> None:
        """End the file next to its place."""
        with self._report_faults():
            if self._parquet is not None:
                self._parquet.close()
                self._parquet = None
            if self._to is not self._raw and not self._to.closed:
                self._to.close()
            if not self._raw.closed:
                self._raw.flush()
                os.fsync(self._raw.fileno())
                self._raw.close()

    def take_out(self, lunches: set[str]) -> list[dict[str, Any]]:
        """Remove the rows of some lunches again, before the file is put in place; gives what was removed."""
        self.close()
        taken: list[dict[str, Any]] = []
        with self._report_faults():
            before, raw = self._parts[-1], self._begun()
            with raw:
                if self._kind == "parquet":
                    _copy_parquet(before, raw, lunches, taken)
                else:
                    packed = self._packed(raw)
                    lines = _csv_lines if self._kind == "csv" else _ndjson_lines
                    with before.open("rb") as stored:
                        source: Any = stored if packed is raw else gzip.GzipFile(fileobj=stored)
                        packed.writelines(lines(source, lunches, taken))
                    if packed is not raw:
                        packed.close()
                raw.flush()
                os.fsync(raw.fileno())
            self._parts.remove(before)
            before.unlink()
        self.rows -= len(taken)
        return taken

    def put_in_place(self) -> None:
        """Give the file its name, in one step."""
        with self._report_faults():
            os.replace(self._parts[-1], self.path)

    def give_up(self) -> None:
        """Leave nothing behind."""
        self._parquet = None
        for stream in (self._to, self._raw):
            try:
                stream.close()
            except (OSError, ValueError):
                continue  # what was written is thrown away with it
        for part in self._parts:
            part.unlink(missing_ok=True)


def arrow_table(frame: pd.DataFrame) -> pa.Table:
    """A frame as arrow columns: text without codes (chunks hold different texts), not a number as null."""
    columns = {}
    for name, column in frame.items():
        text = isinstance(column.dtype, pd.StringDtype) or column.dtype == object
        columns[str(name)] = pa.array(column.array, pa.string() if text else None, from_pandas=True)
    return pa.table(columns)


def with_formulas_marked(table: pa.Table) -> pa.Table:
    """Text that a spreadsheet would take for a formula, such as a lunch named =1+1, marked as text; as in every CSV."""
    for place, column in enumerate(table.columns):
        if pa.types.is_string(column.type):
            formulas = pc.match_substring_regex(column, FORMULA)
            if pc.any(formulas).as_py():
                marked_too = pc.if_else(formulas, pc.binary_join_element_wise(QUOTE, column, ""), column)
                table = table.set_column(place, table.field(place), marked_too)
    return table


def ndjson(table: pa.Table) -> bytes:
    """Rows as NDJSON, written column by column: each cell becomes ``"name":value,``, then the cells are joined."""
    if not table.num_rows:
        return b""
    parts: list[Any] = []
    for place, name in enumerate(table.column_names):
        before = ("{" if place == 0 else "") + orjson.dumps(name).decode() + ":"
        after = "}\n" if place == table.num_columns - 1 else ","
        column = table[name].combine_chunks()
        if isinstance(column, pa.ChunkedArray):
            column = column.chunk(0)
        if pa.types.is_string(column.type):
            coded = column.dictionary_encode()
            texts = [before + orjson.dumps(text).decode() + after for text in [*coded.dictionary.to_pylist(), None]]
            parts.append(pa.array(texts, pa.string()).take(coded.indices.fill_null(len(texts) - 1)))
        elif after == "," and column.null_count == len(column):
            parts.append(before + "null,")
        elif after == ",":
            parts += [before, numbers_with_commas(column.to_numpy(zero_copy_only=False))]
        else:
            parts += [before, pc.fill_null(column.cast(pa.string()), "null"), after]
    lines = pc.binary_join_element_wise(*parts, "")
    _valid, offsets, text = lines.buffers()
    return bytes(memoryview(text)[: np.frombuffer(offsets, np.int32)[len(lines)]])


def numbers_with_commas(values: Any) -> pa.Array:
    """Numbers as JSON text, each with the comma that follows it, cut out of the array that orjson writes at once."""
    text = orjson.dumps(np.ascontiguousarray(values), option=orjson.OPT_SERIALIZE_NUMPY)[1:-1] + b","
    ends = np.flatnonzero(np.frombuffer(text, np.uint8) == COMMA) + 1
    offsets = np.concatenate([[0], ends]).astype(np.int32)
    return pa.StringArray.from_buffers(len(ends), pa.py_buffer(offsets), pa.py_buffer(text))


def _csv_lines(source: IO[bytes], lunches: set[str], taken: list[dict[str, Any]]) -> Iterator[bytes]:
    header = source.readline()
    yield header
    names = next(csv.reader([header.decode()]))
    written = {marked(lunch): lunch for lunch in lunches}
    for line in source:
        cells = next(csv.reader([line.decode()]))
        if cells[0] in written:
            taken.append(dict(zip(names, [written[cells[0]], *cells[1:]], strict=True)))
        else:
            yield line


def _ndjson_lines(source: IO[bytes], lunches: set[str], taken: list[dict[str, Any]]) -> Iterator[bytes]:
    written = {orjson.dumps(lunch) for lunch in lunches}
    for line in source:
        first = FIRST_CELL.match(line)
        if first is not None and first[1] in written:
            taken.append(orjson.loads(line))
        else:
            yield line


def _copy_parquet(source: Path, raw: IO[bytes], lunches: set[str], taken: list[dict[str, Any]]) -> None:
    with pq.ParquetFile(source) as file, pq.ParquetWriter(raw, file.schema_arrow) as writer:
        for group in range(file.num_row_groups):
            table = file.read_row_group(group)
            out = pc.is_in(table["lunch"], pa.array(sorted(lunches)))
            taken += table.filter(out).to_pylist()
            writer.write_table(table.filter(pc.invert(out)))
