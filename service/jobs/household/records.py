"""Records of a household, one way for all kinds: keep, show, list, replace, edit, remove.

What a kind of record has of its own is in ``kinds.py``. Every function works in the transaction it is given; a record of
another household is not there.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any, NamedTuple
from uuid import UUID

from pydantic import Field, TypeAdapter, create_model
from pydantic_core import to_json

from service.domain.errors import RightMissing, StillUsed
from service.domain.messages import message
from service.jobs.cursors import bad_cursor, cursor_of, place_of
from service.jobs.household.merge_patch import merge_patch
from service.jobs.request_faults import refuse_doubled_fields
from service.jobs.requests.fields import Asked, is_kept_id
from service.store.household.kinds import LUNCH
from service.store.household.records import Connection as Connection  # noqa: PLC0414 - the edges hand it on and ask it nothing
from service.store.household.records import Kind, count_naming, create, get, not_there, page, remove, replace, with_ids
from service.store.household.records import Record as Record  # noqa: PLC0414 - what the edges are given
from service.store.kept_replies import forget_replies_naming
from service.store.removed_records import forget_removed_naming

MOST_PER_PAGE = 200
NOT_OF_THE_LIST = message("fault.cursor-of-list")
OF_THE_RECORD = ("id", "created_at", "updated_at", "version")
"""Fields that the store gives a record: shown, and ignored where a record is sent back as it was read."""
Body = dict[str, Any]
Days = tuple[date, date]
"""First and last day that may be written about."""
Matches = Callable[[int], None]
"""Raises unless an edit was made from this version."""


class Looked(NamedTuple):
    """What was found when a record was looked over before it is kept.

    ``computed``: fields to store besides those sent. ``extra_reply``: what its answer reports besides the record.
    """

    computed: Body = {}
    extra_reply: Body | None = None


class Beside(NamedTuple):
    """Fields that are shown with a record and worked out each time it is: their names, and what they say of its body."""

    fields: tuple[str, ...]
    of: Callable[[Connection, UUID, Body], Body]


@dataclass(frozen=True)
class Resource:
    """All that there is to say of a kind of record; each is one entry of ``kinds.py``.

    ``model``: the form in which it is sent. ``columns``: its values next to the body in the store, which are searched,
    sorted or kept unique. ``look_over``: looks at names and ids before it is kept; given the body that is edited, if any.
    ``kept``: the form in which it is kept, where fields are computed. ``needed_by``: the kinds that may name a record
    and keep it from being removed. ``day_of``: the day a record is about, for keys that may write about some days only.
    ``retired``: fields that older exports may hold and that are dropped. ``forget``: takes the id of a removed record
    out of those that name it and stay. ``beside``: what is shown with a record and not stored.
    """

    kind: Kind
    model: type[Asked]
    columns: Callable[[Any], Body]
    look_over: Callable[[Connection, UUID, Any, Body | None], Looked]
    kept: type[Asked] | None = None
    needed_by: tuple[Kind, ...] = ()
    day_of: Callable[[Body], date] | None = None
    retired: frozenset[str] = frozenset()
    forget: Callable[[Connection, UUID, UUID], None] | None = None
    beside: Beside | None = None
    settle: Callable[[Connection, UUID, Record | None, Record | None], Body] | None = None
    """Does what follows from a change, in the same transaction, given the record as it was and as it is (None: it is not
    there); what it gives is reported with the answer."""

    @property
    def noun(self) -> str:
        """What one is called, e.g. ``child``."""
        return self.kind.noun

    @property
    def collection(self) -> str:
        """What all are called, e.g. ``children``: in exports, and as the table of the store."""
        return str(self.kind.table.name)

    @property
    def path(self) -> str:
        """The address of the collection."""
        return f"/v1/{self.collection.replace('_', '-')}"

    @property
    def kept_model(self) -> type[Asked]:
        """The form in which it is kept."""
        return self.kept or self.model

    @cached_property
    def computed(self) -> frozenset[str]:
        """Fields that are kept, or shown, and not sent."""
        beside = () if self.beside is None else self.beside.fields
        return frozenset(self.kept_model.model_fields) - frozenset(self.model.model_fields) | frozenset(beside)

    @cached_property
    def adapter(self) -> TypeAdapter[Any]:
        """Reads what is sent."""
        return TypeAdapter(self.model)

    @cached_property
    def replacement(self) -> type[Asked]:
        """The form in which it is sent whole to replace one: what was read may be in it, and is ignored."""
        field = Field(
            None,
            exclude=True,
            description="As it was read; ignored.",
            json_schema_extra={"readOnly": True},
        )
        ignored: Any = dict.fromkeys((*OF_THE_RECORD, *sorted(self.computed)), (Any, field))
        name = f"{self.model.__name__}Replacement"
        return create_model(name, __base__=self.model, __doc__=self.model.__doc__, **ignored)


class Kept(NamedTuple):
    """A record that was kept, as it is shown, and what its answer reports besides it.

    ``created``: it was not there before.
    """

    record: Record
    shown: Body
    extra_reply: Body | None
    created: bool = False


def read_asked(resource: Resource, body: bytes) -> Any:
    """What was sent, validated; nothing of the store is looked at."""
    asked = resource.adapter.validate_json(body)
    refuse_doubled_fields(body)
    return asked


def read_replacement(resource: Resource, body: bytes) -> Any:
    """What was sent to replace a record, validated; what the service itself says of a record is ignored in it."""
    asked = resource.replacement.model_validate_json(body)
    refuse_doubled_fields(body)
    return asked


def keep_record(
    connection: Connection,
    resource: Resource,
    household: UUID,
    asked: Any,
    days: Days | None,
    record_id: UUID | None = None,
) -> Kept:
    """Keep a new record; ``AlreadyThere`` with the other's id where one with the same name (day, ...) is kept.

    ``record_id``: its id, where that is fixed; otherwise a new one.
    """
    looked = resource.look_over(connection, household, asked, None)
    body = _body(asked, looked)
    _within(resource, body, days)
    record = create(connection, resource.kind, household, body, resource.columns(asked), record_id)
    extra = _settled(connection, resource, household, None, record, looked)
    whole = shown_whole(connection, resource, household, record)
    return Kept(record, whole, extra, created=True)


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
) -> Body:
    """One page of records in the order they were made, each with its version; ``next`` is the following page's cursor.

    ``where``: conditions of ``of_ids`` or ``lunches_of``. ``next`` is None on the last page.
    """
    limit = max(1, min(limit, MOST_PER_PAGE))
    found = page(connection, resource.kind, household, _after(cursor), limit + 1, where)
    more = len(found) > limit
    return {
        "items": [
            {**shown_whole(connection, resource, household, one), "version": one.version} for one in found[:limit]
        ],
        "next": cursor_of(str(found[limit - 1].id)) if more else None,
    }


def of_ids(resource: Resource, ids: Sequence[str]) -> list[Any]:
    """Conditions for a list of the records of these ids; those that are not here are left out of it."""
    return [with_ids(resource.kind, [UUID(one) for one in ids if is_kept_id(one)])]


def replace_record(
    connection: Connection,
    resource: Resource,
    household: UUID,
    record_id: str,
    matches: Matches,
    asked: Any,
    days: Days | None,
) -> Kept:
    """Keep a record as it was sent, in the place of what it was. ``asked``: validated, or the body's bytes."""
    before = _before(connection, resource, household, record_id, matches, days)
    if isinstance(asked, bytes):
        asked = read_replacement(resource, asked)
    return edited(connection, resource, household, before, asked, days)


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
    return edited(connection, resource, household, before, asked, days)


def edited(
    connection: Connection, resource: Resource, household: UUID, before: Record, asked: Any, days: Days | None
) -> Kept:
    """Keep an edit; one that changes nothing leaves the record and its version as they are."""
    looked = resource.look_over(connection, household, asked, before.body)
    body = _body(asked, looked)
    _within(resource, body, days)
    after = before
    if body != before.body:
        columns = resource.columns(asked)
        after = replace(connection, resource.kind, household, before.id, before.version, body, columns)
    extra = _settled(connection, resource, household, before, after, looked)
    return Kept(after, shown_whole(connection, resource, household, after), extra)


def remove_record(
    connection: Connection, resource: Resource, household: UUID, record_id: str, matches: Matches
) -> None:
    """Remove a record with all that belongs to it; ``StillUsed`` where something else names it."""
    before = get(connection, resource.kind, household, _id(resource, record_id), "alone")
    matches(before.version)
    for kind in resource.needed_by:
        count = count_naming(connection, kind, household, before.id)
        if count:
            raise StillUsed(
                pointer="/id",
                value=record_id,
                problem=message("fault.still-used", count=count, noun=kind.noun),
            )
    if resource.forget is not None:
        resource.forget(connection, household, before.id)
    remove(connection, resource.kind, household, before.id, before.version)
    if resource.settle is not None:
        resource.settle(connection, household, before, None)
    forget_replies_naming(connection, household, [before.id])
    if resource.kind is not LUNCH:  # what a lunch that goes took from the stock names it, and is to stay
        forget_removed_naming(connection, household, before.id)


def shown(record: Record) -> Body:
    """A record as it is stored: its id and times, then its fields. Its version is the entity tag."""
    return {
        "id": str(record.id),
        "created_at": record.created_at.isoformat(timespec="seconds").replace("+00:00", "Z"),
        "updated_at": record.updated_at.isoformat(timespec="seconds").replace("+00:00", "Z"),
        **record.body,
    }


def shown_whole(connection: Connection, resource: Resource, household: UUID, record: Record) -> Body:
    """A record as it is published: as it is stored, with what is said beside it."""
    whole = shown(record)
    return whole if resource.beside is None else whole | resource.beside.of(connection, household, record.body)


_JSON: TypeAdapter[Any] = TypeAdapter(dict[str, Any])


def _settled(
    connection: Connection, resource: Resource, household: UUID, before: Record | None, after: Record, looked: Looked
) -> Body | None:
    """What the answer reports besides the record, with what followed from the change."""
    if resource.settle is None:
        return looked.extra_reply
    return {**(looked.extra_reply or {}), **resource.settle(connection, household, before, after)} or None


def _body(asked: Asked, looked: Looked) -> Body:
    """What is kept of a request: all of its fields, and what was computed."""
    return {**asked.model_dump(mode="json", by_alias=True), **looked.computed}


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


def _within(resource: Resource, body: Body, days: Days | None) -> None:
    if days is None or resource.day_of is None:
        return
    day = resource.day_of(body)
    if not days[0] <= day <= days[1]:
        raise RightMissing(
            pointer="/date",
            value=day.isoformat(),
            problem=message("fault.day-not-today"),
        )


def _id(resource: Resource, record_id: str) -> UUID:
    if not is_kept_id(record_id):
        raise not_there(resource.kind, record_id)
    return UUID(record_id)


def _after(cursor: str | None) -> UUID | None:
    if cursor is None:
        return None
    place = place_of(cursor, NOT_OF_THE_LIST)
    if not is_kept_id(place):
        raise bad_cursor(cursor, NOT_OF_THE_LIST)
    return UUID(place)
