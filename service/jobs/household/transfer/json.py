"""A household as one JSON file, and back to the same bytes.

::

    {
      "packed_lunch_export": 1,
      "household": {"id": "...", "version": 1, "created_at": "...", "updated_at": "...", "body": {...}},
      "children": [{"id": "...", "version": 2, ..., "body": {...}}, ...],
      "foods": [...], "packets": [...], "recipes": [...], "offers": [...], "prices": [...], "lunches": [...],
      "school_days": [...]
    }

``body`` is what the API takes and gives for that kind (a lunch's also says what was found). Two spaces indent, UTF-8,
records in the order they were made. Access keys, devices and photographs of packets are not in it:
an answer and a file to read stay small.
"""

import codecs
import json
from typing import Any

import orjson

from service.domain.errors import BadInput
from service.domain.messages import message
from service.jobs.household.kinds import RESOURCES
from service.jobs.household.transfer.whole_household import (
    ADDED_LATER,
    HOUSEHOLD,
    OF_THE_RECORD,
    SHAPE,
    OfOlder,
    WholeHousehold,
    brought_up,
    inside,
    look_over,
    outside,
)
from service.jobs.request_faults import refuse_doubled_fields, shown
from service.store.household.records import Record

SIGN = "packed_lunch_export"
NEW_LINE = b"\n"
FIELDS = {*OF_THE_RECORD, "body"}
ALL_FIELDS = {SIGN, HOUSEHOLD, *RESOURCES}
MOST_TOLD = 10
SIGNS_OF_VALUES = (b",", b":", b"[", b"{")
BYTES_A_VALUE, FEWEST = 5, 1_000
"""A file may have a value for so many bytes, and some more: read in, a value takes sixty bytes or more, however short it is."""


def as_value(whole: WholeHousehold) -> dict[str, Any]:
    """The export as plain values, in the order in which they are written."""
    records = {name: [_plain(record) for record in whole.records[name]] for name in RESOURCES}
    return {SIGN: SHAPE, HOUSEHOLD: _plain(whole.household), **records}


def as_json(whole: WholeHousehold) -> bytes:
    """The file; of the same household always the same bytes."""
    return orjson.dumps(as_value(whole), option=orjson.OPT_INDENT_2) + b"\n"


def from_json(file: str, content: bytes) -> WholeHousehold:
    """Read the file; ``LunchError`` names its line, the field, the value and the remedy."""
    content = content.removeprefix(codecs.BOM_UTF8)
    if sum(map(content.count, SIGNS_OF_VALUES)) > FEWEST + len(content) // BYTES_A_VALUE:
        raise BadInput(pointer=file, value="", problem=message("fault.export-too-many-values"))
    try:
        found = orjson.loads(content)
    except orjson.JSONDecodeError as fault:
        begin = fault.doc.rfind("\n", 0, fault.pos) + 1
        raise BadInput(
            pointer=f"{file}, line {fault.lineno}",
            value=shown(fault.doc[begin : begin + 1_000].partition("\n")[0]),
            problem=message("fault.export-not-json", reason=fault.msg),
        ) from fault
    if not isinstance(found, dict) or found.get(SIGN) != SHAPE or set(found) | ADDED_LATER != ALL_FIELDS:
        raise _no_export(file, found)
    refuse_doubled_fields(content)
    found = {**{key: [] for key in ADDED_LATER}, **found}
    lines = _Lines(file, content)
    records: dict[str, list[Record]] = {}
    older = OfOlder([], [])
    for name in RESOURCES:
        if not isinstance(found[name], list):
            raise BadInput(
                pointer=lines.of(f"/{name}", None),
                value=shown(found[name]),
                problem=message("fault.list-type"),
            )
        records[name] = []
        for number, one in enumerate(found[name]):
            records[name].append(_record(name, f"/{name}/{number}", one, lines, older))
            del one["body"]  # of a large file, not both of them are held
    household = _record(HOUSEHOLD, f"/{HOUSEHOLD}", found[HOUSEHOLD], lines, older)
    whole = WholeHousehold(household, records)

    def where(name: str, number: int, field: str) -> str:
        body = "" if field in ("", "/id") else "/body"
        return lines.of(f"/{name}/{number}{body}{field}", found[name][number])

    look_over(whole, where)
    return whole._replace(records=brought_up(records, older))


def _no_export(file: str, found: object) -> BadInput:
    """The fault of JSON that is no export, or one of a newer version."""
    shape = found.get(SIGN) if isinstance(found, dict) else None
    unknown = sorted(set(found) - ALL_FIELDS) if isinstance(found, dict) else []
    if type(shape) is int and (shape > SHAPE or unknown):
        problem = message("fault.export-newer", fields=unknown[:MOST_TOLD] or [SIGN])
    else:
        problem = message("fault.no-export", shape=SHAPE, fields=[SIGN, HOUSEHOLD, *RESOURCES])
    return BadInput(
        pointer=f"{file}, line 1", value=shown(shape if isinstance(found, dict) else found), problem=problem
    )


def _plain(record: Record) -> dict[str, Any]:
    return {**outside(record), "body": record.body}


def _record(collection: str, pointer: str, plain: Any, lines: "_Lines", older: OfOlder) -> Record:
    if not isinstance(plain, dict) or set(plain) != FIELDS:
        raise BadInput(
            pointer=lines.of(pointer, plain),
            value=shown(plain),
            problem=message("fault.no-record", fields=[*OF_THE_RECORD, "body"]),
        )

    def where(field: str) -> str:
        body = "" if field.removeprefix("/") in OF_THE_RECORD else "/body"
        return lines.of(f"{pointer}{body}{field}", plain)

    return inside(collection, plain, plain["body"], where, older)


class _Lines:
    """Finds the line on which a record begins, by its id."""

    def __init__(self, file: str, content: bytes) -> None:
        self._file, self._content = file, content

    def of(self, pointer: str, plain: Any) -> str:
        """File, line (where it is known) and field."""
        record_id = plain.get("id") if isinstance(plain, dict) else None
        place = -1
        if isinstance(record_id, str) and record_id:
            place = self._content.find(b'"id": ' + json.dumps(record_id, ensure_ascii=False).encode())
        line = f", line {self._content[:place].count(NEW_LINE) + 1}" if place >= 0 else ""
        return f"{self._file}{line}, {pointer}"
