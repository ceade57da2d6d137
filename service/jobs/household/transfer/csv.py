"""A household as CSV files, one a kind, and back to the same bytes: one row a record, one column a field.

RFC 4180 with CRLF, UTF-8. ``household.csv`` has one row and begins with ``packed_lunch_export``, the number of the shape.
A cell holds: nothing where the field is not there; text as it is; anything else (numbers, true, null, lists, objects) as
JSON. Where text would be read as something else, or by a spreadsheet as a formula (it begins with = + - @, a tab or a
line break), an apostrophe is put before it; JSON that begins with a minus has an apostrophe and a # before it. Columns may
come in any order; a column of a field that has a default may be missing, as in files of an older version.
"""

import csv
import io
from collections.abc import Iterator, Mapping
from typing import Any

import orjson

from service.domain.errors import BadInput
from service.domain.messages import message
from service.jobs.formula_marks import QUOTE, may_be_formula
from service.jobs.household.kinds import RESOURCES
from service.jobs.household.transfer.whole_household import (
    ADDED_LATER,
    HOUSEHOLD,
    OF_THE_RECORD,
    SHAPE,
    OfOlder,
    WholeHousehold,
    brought_up,
    fields_of,
    inside,
    look_over,
    outside,
    retired_fields,
)
from service.jobs.request_faults import shown
from service.store.household.records import Record

SIGN = "packed_lunch_export"
JSON_AFTER_QUOTE = f"{QUOTE}#"
LONGEST_CELL = 5_000_000
"""Characters of a cell or of a line; what the API takes at once is a fifth of that."""
MOST_TOLD = 10
FILES = {f"{name}.csv": name for name in (HOUSEHOLD, *RESOURCES)}


def as_tables(whole: WholeHousehold) -> dict[str, bytes]:
    """The files by their names; of the same household always the same bytes."""
    records = {HOUSEHOLD: [whole.household], **whole.records}
    return {file: _written(name, records[name]) for file, name in FILES.items()}


def from_tables(place: str, files: Mapping[str, bytes]) -> WholeHousehold:
    """Read the files; ``LunchError`` names file, line, column, value and remedy."""
    later = {f"{name}.csv" for name in ADDED_LATER}
    if set(files) | later != set(FILES):
        wrong = sorted((set(files) | later) ^ set(FILES))
        if not set(wrong) & set(FILES):
            raise BadInput(pointer=place, value=SHAPE, problem=message("fault.export-newer", fields=wrong[:MOST_TOLD]))
        raise BadInput(
            pointer=place,
            value=", ".join(wrong),
            problem=message("fault.not-the-files-of-an-export", files=list(FILES)),
        )
    older = OfOlder([], [])
    read = {
        name: list(_read(f"{place}/{file}", name, files[file], older)) if file in files else []
        for file, name in FILES.items()
    }
    household = read.pop(HOUSEHOLD)
    if len(household) != 1:
        raise BadInput(
            pointer=f"{place}/{HOUSEHOLD}.csv",
            value=len(household),
            problem=message("fault.not-one-household"),
        )
    whole = WholeHousehold(household[0][1], {name: [record for _, record in rows] for name, rows in read.items()})
    look_over(whole, lambda name, n, pointer: f"{place}/{name}.csv, line {read[name][n][0]}, {pointer}")
    return whole._replace(records=brought_up(whole.records, older))


def cell(value: object) -> str:
    """A value as a cell."""
    if isinstance(value, str):
        return QUOTE + value if _may_be_misread(value) else value
    written = orjson.dumps(value).decode()
    return JSON_AFTER_QUOTE + written if may_be_formula(written) else written


def value_of(text: str) -> Any:
    """The value of a cell that is not empty."""
    if text.startswith(JSON_AFTER_QUOTE):
        return orjson.loads(text.removeprefix(JSON_AFTER_QUOTE))
    if text.startswith(QUOTE):
        return text.removeprefix(QUOTE)
    try:
        return orjson.loads(text)
    except orjson.JSONDecodeError:
        return text


def _value(file: str, line: int, column: str, text: str) -> Any:
    try:
        return value_of(text)
    except orjson.JSONDecodeError as fault:
        problem = message("fault.export-not-json", reason=fault.msg)
        raise BadInput(pointer=f"{file}, line {line}, {column}", value=shown(text), problem=problem) from fault


def _may_be_misread(text: str) -> bool:
    if text == "" or may_be_formula(text) or text.startswith(QUOTE):
        return True
    try:
        orjson.loads(text)
    except orjson.JSONDecodeError:
        return False
    return True


def _columns(collection: str) -> dict[str, bool]:
    """The columns in their order, and whether each must be there."""
    sign = [SIGN] if collection == HOUSEHOLD else []
    return {**dict.fromkeys((*sign, *OF_THE_RECORD), True), **fields_of(collection)}


def _written(collection: str, records: list[Record]) -> bytes:
    out = io.StringIO(newline="")
    table = csv.writer(out, lineterminator="\r\n")
    columns = list(_columns(collection))
    table.writerow(columns)
    for record in records:
        values = {SIGN: SHAPE, **outside(record), **record.body}
        table.writerow([cell(values[name]) if name in values else "" for name in columns])
    return out.getvalue().encode()


def _read(file: str, collection: str, content: bytes, older: OfOlder) -> Iterator[tuple[int, Record]]:
    """Line and record of each row."""
    known, columns = _columns(collection), list[str]()
    for line, row in _rows(file, content):
        if line == 1:
            columns = row
            _see_columns(file, columns, known, retired_fields(collection))
            continue
        if len(row) != len(columns):
            raise BadInput(
                pointer=f"{file}, line {line}",
                value=len(row),
                problem=message("fault.cells-unlike-columns", columns=len(columns)),
            )
        plain = {name: _value(file, line, name, text) for name, text in zip(columns, row, strict=True) if text != ""}
        if collection == HOUSEHOLD and plain.pop(SIGN, None) != SHAPE:
            raise BadInput(
                pointer=f"{file}, line {line}, {SIGN}",
                value=row[0],
                problem=message("fault.other-shape", shape=SHAPE),
            )
        body = {name: value for name, value in plain.items() if name not in OF_THE_RECORD}
        yield line, inside(collection, plain, body, lambda field, line=line: f"{file}, line {line}, {field}", older)  # type: ignore[misc]


def _see_columns(file: str, columns: list[str], known: dict[str, bool], retired: frozenset[str]) -> None:
    """See that the columns are known, appear once, and that none is missing which must be there."""
    missing = [name for name, needed in known.items() if needed and name not in columns]
    unknown = [name for name in columns if name not in known and name not in retired]
    twice = [name for name in known if columns.count(name) > 1]
    if missing or unknown or twice:
        raise BadInput(
            pointer=f"{file}, line 1",
            value=", ".join(unknown or twice or missing)[:120],
            problem=message("fault.columns-unknown", columns=list(known))
            if unknown
            else message("fault.columns-twice", columns=list(known))
            if twice
            else message("fault.columns-missing", columns=list(known)),
        )


def _rows(file: str, content: bytes) -> Iterator[tuple[int, list[str]]]:
    """Each row with the line it begins on; one is read at a time, so that no more of them are held than one."""
    begins = 1
    csv.field_size_limit(LONGEST_CELL)  # of all readers of this process, which may run at the same time
    try:
        reader = csv.reader(_lines(file, content), strict=True)
        for row in reader:
            yield begins, row
            begins = reader.line_num + 1
    except (UnicodeDecodeError, csv.Error) as fault:
        raise BadInput(
            pointer=f"{file}, line {begins}",
            value=shown(content[:40]),
            problem=message("fault.csv-not-utf8")
            if isinstance(fault, UnicodeDecodeError)
            else message("fault.not-csv", reason=str(fault)),
        ) from fault
    if begins == 1:
        raise BadInput(pointer=f"{file}, line 1", value="", problem=message("fault.csv-without-header"))


def _lines(file: str, content: bytes) -> Iterator[str]:
    """The lines of a file; ``BadInput`` for one that is longer than any row is."""
    text = io.TextIOWrapper(io.BytesIO(content), encoding="utf-8-sig", newline="")
    number = 0
    while line := text.readline(LONGEST_CELL + 1):
        number += 1
        if len(line) > LONGEST_CELL:
            problem = message("fault.not-csv", reason=f"more than {LONGEST_CELL} characters in a line")
            raise BadInput(pointer=f"{file}, line {number}", value=shown(line[:40]), problem=problem)
        yield line
