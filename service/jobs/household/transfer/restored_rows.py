"""Looks over the rows of a backup before they are restored: by the models that requests have, and by what belongs together.

A checksum says that a file is as it was written, not who wrote it: what would be answered with a fault later is refused here.
A row that belongs to a row that is refused is refused too.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Annotated, Any, Literal, NamedTuple
from uuid import UUID

import orjson
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from service.domain.errors import BadInput, LunchError
from service.domain.messages import message
from service.jobs.household.access.access_keys import NewKey
from service.jobs.household.access.calendar_feeds import NewFeed
from service.jobs.household.access.sign_in_links import NewLink
from service.jobs.household.branded.live_source import KEY
from service.jobs.household.kinds import RESOURCES
from service.jobs.household.packets.photographs import MEDIA_TYPE
from service.jobs.household.transfer.whole_household import HOUSEHOLD, MODELS, columns_of, named_ids
from service.jobs.request_faults import fault_of, request_fault, shown
from service.reference.messages import languages
from service.store.backup import Row
from service.store.removed_records import EVENTS, columns_as_before

Values = dict[str, Any]
HOUSEHOLDS, REMOVED = "households", "removed_records"
JPEG = b"\xff\xd8\xff"
"""The first bytes of every JPEG. Source: ISO/IEC 10918-1, B.1.1.3; status: memory."""
OF_ROWS = ("household_id", "child_id", "stock_id", "packet_id")
"""Columns that hold the id of a row that has to be there."""
STATUSES = frozenset({0, *range(200, 300)})
"""Of a reply that is kept: 0 while it is not there yet."""


class _Reply(BaseModel):
    """A kept reply."""

    model_config = ConfigDict(strict=True)

    idempotency_key: Annotated[str, Field(min_length=1, max_length=255)]
    request_hash: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    headers: dict[Annotated[str, Field(pattern=r"^[A-Za-z0-9-]+$")], Annotated[str, Field(pattern=r"^[\x20-\x7e]*$")]]


class _Hash(BaseModel):
    """The hash of a secret."""

    secret_hash: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


class _Feed(BaseModel):
    """What a calendar shows."""

    rights: Literal["days", "health"]


class _Run(BaseModel):
    """What retention did once."""

    model_config = ConfigDict(strict=True)

    number: Annotated[int, Field(ge=1)]
    removed: dict[str, Annotated[int, Field(ge=0)]]
    held: dict[str, Annotated[int, Field(ge=0)]]


class _Named(NamedTuple):
    """That a row names the id of another."""

    number: int
    field: str
    value: str
    household: UUID


def look_over_rows(rows: Iterable[Row]) -> Mapping[int, LunchError]:
    """The rows that cannot be restored, by their number, each with the first fault found; its pointer is the field."""
    refused: dict[int, LunchError] = {}
    kept: dict[str, tuple[UUID, int]] = {}
    named: list[_Named] = []
    seen: set[tuple[Any, ...]] = set()
    for row in rows:
        try:
            _look_at(row, seen)
        except BadInput as fault:
            refused[row.number] = fault
            continue
        values = row.values
        household = values["id"] if row.table == HOUSEHOLDS else values["household_id"]
        named += [_Named(row.number, *one, household) for one in _names(row)]
        if "id" in values:
            kept[str(values["id"])] = (household, row.number)
    _refuse_what_hangs(refused, kept, named)
    return refused


def _refuse_what_hangs(
    refused: dict[int, LunchError], kept: Mapping[str, tuple[UUID, int]], named: list[_Named]
) -> None:
    """Refuse what names a row that is not there, is of another household, or is refused itself; until nothing more is."""
    before = -1
    while before != len(refused):
        before = len(refused)
        for one in named:
            household, number = kept.get(one.value, (None, 0))
            if one.number not in refused and (household != one.household or number in refused):
                refused[one.number] = BadInput(
                    pointer=one.field, value=one.value, problem=message("fault.row-of-nothing")
                )


def _names(row: Row) -> Iterator[tuple[str, str]]:
    """The ids of other rows that a row holds, with their fields."""
    for column in OF_ROWS:
        if row.values.get(column) is not None:
            yield f"/{column}", str(row.values[column])
    if row.table == HOUSEHOLDS or row.table in RESOURCES:
        yield from named_ids(row.values["body"], "/body")
    if row.table == REMOVED and row.values["kind"] != EVENTS:  # an event may name a lunch that is gone
        yield from named_ids(row.values["row"]["body"], "/row/body")


def _look_at(row: Row, seen: set[tuple[Any, ...]]) -> None:
    """See that the values of a row are those that are written there; ``BadInput`` otherwise."""
    values = row.values
    if "version" in values and values["version"] < 1:
        raise _wrong("/version", values["version"])
    if row.table == HOUSEHOLDS or row.table in RESOURCES:
        _look_at_body(row)
    if row.table == REMOVED:
        _look_at_removed(row)
    look = OF_TABLE.get(row.table)
    if look is not None:
        look(values)
    for key in _keys(row):
        if key in seen:
            raise BadInput(pointer="", value=" ".join(map(str, key[1:])), problem=message("fault.twice-in-file"))
        seen.add(key)


def _keys(row: Row) -> Iterator[tuple[Any, ...]]:
    """What no other row may have too."""
    values = row.values
    if "id" in values:
        yield ("id", values["id"])
    if "secret_hash" in values:
        yield (row.table, values["secret_hash"])
    if row.table in RESOURCES:
        unique = RESOURCES[row.table].kind.unique_columns()
        if unique:
            yield (row.table, values["household_id"], *(values[name] for name in unique))
    if row.table in ALONE:
        yield (row.table, *(values[name] for name in ALONE[row.table]))


def _look_at_body(row: Row) -> None:
    collection, body = (HOUSEHOLD if row.table == HOUSEHOLDS else row.table), row.values["body"]
    try:
        MODELS[collection].model_validate_json(orjson.dumps(body))
    except orjson.JSONEncodeError as fault:
        raise BadInput(pointer="/body", value="", problem=message("fault.json-too-deep")) from fault
    except ValidationError as fault:
        raise _first_of(fault, "/body") from fault
    if row.table == HOUSEHOLDS:
        return
    for name, value in columns_of(collection, body).items():
        if row.values[name] != value:
            raise BadInput(pointer=f"/{name}", value=shown(row.values[name]), problem=message("fault.row-unlike-body"))


def _look_at_removed(row: Row) -> None:
    """See that what was removed could be put back: as a record of its kind, of the same household and child."""
    values, kind = row.values, row.values["kind"]
    if kind not in RESOURCES:
        raise _wrong("/kind", kind)
    try:
        before = columns_as_before(kind, values["row"])
        alike = [before[name] == values[name] for name in ("household_id", "child_id") if name in before]
    except (KeyError, ValueError, TypeError) as fault:
        raise _wrong("/row", values["row"]) from fault
    if not all([*alike, before["id"] == values["record_id"], before["version"] >= 1]):
        raise _wrong("/row", before["id"])
    try:
        _look_at_body(Row(row.number, kind, before))
    except BadInput as fault:
        raise BadInput(pointer=f"/row{fault.pointer}", value=fault.value, problem=fault.problem) from fault


def _validated(model: type[BaseModel], values: Values) -> None:
    try:
        model.model_validate(values)
    except ValidationError as fault:
        raise _first_of(fault, "") from fault


def _first_of(fault: ValidationError, under: str) -> BadInput:
    first = request_fault(fault.errors(include_url=False)[0])
    return BadInput(pointer=under + first["pointer"], value=first["value"], problem=fault_of(first))


def _wrong(field: str, value: object) -> BadInput:
    return BadInput(pointer=field, value=shown(value), problem=message("fault.row-value-wrong"))


def _key(values: Values) -> None:
    _validated(NewKey, {"name": values["name"], "rights": values["rights"]})
    _validated(_Hash, values)


def _link(values: Values) -> None:
    child = None if values["child_id"] is None else str(values["child_id"])
    _validated(NewLink, {"name": values["name"], "rights": values["rights"], "child": child})
    _validated(_Hash, values)


def _feed(values: Values) -> None:
    _validated(NewFeed, {"name": values["name"], "language": values["language"]})
    _validated(_Feed, values)
    _validated(_Hash, values)
    if values["language"] not in languages():
        raise _wrong("/language", values["language"])


def _live_key(values: Values) -> None:
    if not re.fullmatch(KEY, values["api_key"]):
        raise _wrong("/api_key", "")  # what it is may be most of a key


def _run(values: Values) -> None:
    _validated(_Run, values)


def _photograph(values: Values) -> None:
    if values["media_type"] != MEDIA_TYPE:
        raise _wrong("/media_type", values["media_type"])
    if not values["image"].startswith(JPEG):
        raise _wrong("/image", "")


def _reply(values: Values) -> None:
    _validated(_Reply, values)
    if values["status"] not in STATUSES:
        raise _wrong("/status", values["status"])


OF_TABLE: Mapping[str, Callable[[Values], None]] = {
    "access_keys": _key,
    "sign_in_links": _link,
    "devices": _link,
    "calendar_feeds": _feed,
    "live_source_keys": _live_key,
    "packet_photos": _photograph,
    "kept_replies": _reply,
    "retention_runs": _run,
}
"""How the rows of a table are looked at that are no records of a household."""
ALONE: Mapping[str, tuple[str, ...]] = {
    "packet_photos": ("packet_id",),
    "live_source_keys": ("household_id",),
    "kept_replies": ("household_id", "idempotency_key"),
    "retention_runs": ("household_id", "number"),
}
"""What there is once of each row of a table without ids."""
