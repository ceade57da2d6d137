"""Records of a household over HTTP's verbs, one way for all kinds: keep, show, list, replace, edit, take out.

What a kind of record has of its own stands in ``household_kinds.py``. Every function works in the transaction it is
given; a record of another household is not there.
"""

import base64
from collections.abc import Callable, Sequence
from datetime import date
from typing import Any, NamedTuple
from uuid import UUID

from pydantic import TypeAdapter
from pydantic_core import to_json

from service.domain.errors import BadInput, RightMissing, StillUsed
from service.jobs.household.merge_patch import merge_patch
from service.jobs.household.requests import is_kept_id
from service.jobs.request_faults import refuse_doubled_fields
from service.store.kept_replies import forget_replies_naming
from service.store.records import Connection, Kind, Record, count_naming, create, get, not_there, page, remove, replace

MOST_PER_PAGE = 200
Days = tuple[date, date]
"""First and last day that may be written about."""
Matches = Callable[[int], None]
"""Raises unless an edit was made from this version."""


class Ready(NamedTuple):
    """A record made ready to keep. ``beside``: what its answer tells besides the record."""

    body: dict[str, Any]
    columns: dict[str, Any]
    beside: dict[str, Any] | None = None


class Resource(NamedTuple):
    """A kind of record as a household sees it.

    ``adapter``: reads what is sent. ``ready``: looks at names and ids, and gives what is kept; it is told the body that
    is edited, if any. ``needed_by``: the kinds that may name a record and keep it from being taken out.
    ``day_of``: the day a record is about, for keys that may write about some days only.
    """

    kind: Kind
    adapter: TypeAdapter[Any]
    ready: Callable[[Connection, UUID, Any, dict[str, Any] | None], Ready]
    needed_by: tuple[Kind, ...] = ()
    day_of: Callable[[dict[str, Any]], date] | None = None
    computed: frozenset[str] = frozenset()


class Kept(NamedTuple):
    """A record that was kept, and what its answer tells besides it."""

    record: Record
    beside: dict[str, Any] | None


def read_asked(resource: Resource, body: bytes) -> Any:
    """What was sent, validated; nothing of the store is looked at."""
    asked = resource.adapter.validate_json(body)
    refuse_doubled_fields(body)
    return asked


def keep_record(connection: Connection, resource: Resource, household: UUID, asked: Any, days: Days | None) -> Kept:
    """Keep a new record."""
    made = resource.ready(connection, household, asked, None)
    _within(resource, made.body, days)
    return Kept(create(connection, resource.kind, household, made.body, made.columns), made.beside)


def show_record(connection: Connection, resource: Resource, household: UUID, record_id: str) -> Record:
    """One record; ``NotThere`` if this household has none of that id."""
    return get(connection, resource.kind, household, _id(resource, record_id))


def list_records(
    connection: Connection,
    resource: Resource,
    household: UUID,
    limit: int,
    cursor: str | None,
    where: Sequence[Any] = (),
) -> dict[str, Any]:
    """One page of records in the order they were made; ``next`` is the cursor of the following page or None."""
    limit = max(1, min(limit, MOST_PER_PAGE))
    found = page(connection, resource.kind, household, _after(cursor), limit + 1, where)
    more = len(found) > limit
    return {
        "items": [shown(one) for one in found[:limit]],
        "next": _cursor(found[limit - 1].id) if more else None,
    }


def replace_record(
    connection: Connection,
    resource: Resource,
    household: UUID,
    record_id: str,
    matches: Matches,
    body: bytes,
    days: Days | None,
) -> Kept:
    """Keep a record as it was sent, in the place of what it was."""
    before = _before(connection, resource, household, record_id, matches, days)
    return _edited(connection, resource, household, before, read_asked(resource, body), days)


def edit_record(
    connection: Connection,
    resource: Resource,
    household: UUID,
    record_id: str,
    matches: Matches,
    body: bytes,
    days: Days | None,
) -> Kept:
    """Edit parts of a record by a JSON Merge Patch (RFC 7396); the whole is validated again."""
    before = _before(connection, resource, household, record_id, matches, days)
    patch = _JSON.validate_json(body)
    target = {name: value for name, value in before.body.items() if name not in resource.computed}
    whole = to_json(merge_patch(target, patch), inf_nan_mode="constants")  # a NaN stays one, to be refused
    asked = resource.adapter.validate_json(whole)
    refuse_doubled_fields(body)
    return _edited(connection, resource, household, before, asked, days)


def remove_record(
    connection: Connection, resource: Resource, household: UUID, record_id: str, matches: Matches
) -> None:
    """Take a record out with all that hangs on it; ``StillUsed`` where something else names it."""
    before = get(connection, resource.kind, household, _id(resource, record_id), "alone")
    matches(before.version)
    for kind in resource.needed_by:
        count = count_naming(connection, kind, household, before.id)
        if count:
            raise StillUsed(
                pointer="/id",
                value=record_id,
                problem=f"is named by {count} {kind.noun if count == 1 else kind.table.name}",
                remedy=f"Edit or take out each {kind.noun} that names it first.",
            )
    remove(connection, resource.kind, household, before.id, before.version)
    forget_replies_naming(connection, household, before.id)


def shown(record: Record) -> dict[str, Any]:
    """A record as it is published: its id and times, then its fields. Its version is the entity tag."""
    return {
        "id": str(record.id),
        "created_at": record.created_at.isoformat(timespec="seconds").replace("+00:00", "Z"),
        "updated_at": record.updated_at.isoformat(timespec="seconds").replace("+00:00", "Z"),
        **record.body,
    }


_JSON: TypeAdapter[Any] = TypeAdapter(dict[str, Any])


def _before(
    connection: Connection,
    resource: Resource,
    household: UUID,
    record_id: str,
    matches: Matches,
    days: Days | None,
) -> Record:
    before = show_record(connection, resource, household, record_id)
    _within(resource, before.body, days)
    matches(before.version)
    return before


def _edited(
    connection: Connection, resource: Resource, household: UUID, before: Record, asked: Any, days: Days | None
) -> Kept:
    made = resource.ready(connection, household, asked, before.body)
    _within(resource, made.body, days)
    record = replace(connection, resource.kind, household, before.id, before.version, made.body, made.columns)
    return Kept(record, made.beside)


def _within(resource: Resource, body: dict[str, Any], days: Days | None) -> None:
    if days is None or resource.day_of is None:
        return
    day = resource.day_of(body)
    if not days[0] <= day <= days[1]:
        raise RightMissing(
            pointer="/date",
            value=day.isoformat(),
            problem="is not today, and this access key only logs what is packed for the day",
            remedy="Use a key that may keep everything.",
        )


def _id(resource: Resource, record_id: str) -> UUID:
    if not is_kept_id(record_id):
        raise not_there(resource.kind, record_id)
    return UUID(record_id)


def _cursor(after: UUID) -> str:
    return base64.urlsafe_b64encode(after.bytes).decode().rstrip("=")


def _after(cursor: str | None) -> UUID | None:
    if cursor is None:
        return None
    try:
        return UUID(bytes=base64.urlsafe_b64decode(cursor + "=="))
    except ValueError as fault:
        raise BadInput(
            pointer="/cursor",
            value=cursor,
            problem="is no cursor of this list",
            remedy="Give the 'next' of the page before, or leave it out to start again.",
        ) from fault
