"""Stored records as pages use them: shown, kept, replaced, removed, each in one transaction and by the same jobs as the API.

A form that edits a record carries its version; ``ChangedMeanwhile`` tells that another device was faster.
"""

import hashlib
from collections.abc import Callable, Mapping
from typing import Any

from pydantic import ValidationError
from pydantic_core import to_json

from service.domain.errors import LunchError, NotThere
from service.jobs.household.access.opened import Caller
from service.jobs.household.once import Made, carry_out
from service.jobs.household.records import (
    Connection,
    Days,
    Kept,
    Matches,
    Record,
    Resource,
    edit_record,
    keep_record,
    list_records,
    read_asked,
    replace_record,
    show_record,
    shown,
)
from service.jobs.household.removing import remove_for_good
from service.jobs.requests.fields import is_kept_id
from service.web.forms.form import Form
from service.web.refusals import ChangedMeanwhile

MOST = 200
Body = Mapping[str, Any]


def all_of(caller: Caller, resource: Resource) -> list[dict[str, Any]]:
    """All records of a kind, in the order they were stored, each with its id and version."""
    found: list[dict[str, Any]] = []
    cursor: str | None = None
    with caller.store.reading() as connection:
        while True:
            part = list_records(connection, resource, caller.household, MOST, cursor)
            found += part["items"]
            cursor = part["next"]
            if cursor is None:
                return found


def one_of(caller: Caller, resource: Resource, record_id: str) -> dict[str, Any]:
    """One record with its id and version; ``NotThere`` if this household has none of that id."""
    with caller.store.reading() as connection:
        return with_version(show_record(connection, resource, caller.household, record_id))


def keep_new(caller: Caller, resource: Resource, body: Body, days: Days | None = None) -> Kept:
    """Keep a new record; ``ValidationError`` or ``LunchError`` for what is wrong with it."""
    asked = read_asked(resource, to_json(body))
    with caller.store.writing() as connection:
        return keep_record(connection, resource, caller.household, asked, days)


def keep_once(caller: Caller, resource: Resource, repeat: str, body: Body) -> str:
    """Keep a new record, as ``keep_new``; the same form sent twice keeps one. Its id.

    ``repeat``: what the form carries to be told from another of the same content.
    """
    whole = to_json(body)
    asked = read_asked(resource, whole)

    def create(connection: Connection) -> Made:
        return Made(201, {"id": str(keep_record(connection, resource, caller.household, asked, None).record.id)}, {})

    same = hashlib.sha256(repeat.encode() + whole).hexdigest() if repeat else ""
    return str(once(caller, same, resource.collection, create).body["id"])


def make_once(caller: Caller, form: Form, create: Callable[[Connection], str]) -> str:
    """Make something of a form whose content says all; the same form sent twice makes one. Its id."""
    repeat = form.text("repeat")
    sent = to_json({name: form.texts(name) for name in form.names()})

    def made(connection: Connection) -> Made:
        return Made(201, {"id": create(connection)}, {})

    key = hashlib.sha256(sent).hexdigest() if repeat else ""
    return str(once(caller, key, sent.decode(), made).body["id"])


def keep_again(
    caller: Caller, resource: Resource, record_id: str, version: str, body: Body, days: Days | None = None
) -> Kept:
    """Put a record in the place of what it was; ``ChangedMeanwhile`` where it is no longer of that version, and says something else."""

    def edit(connection: Connection, matches: Matches) -> Kept:
        return replace_record(connection, resource, caller.household, record_id, matches, to_json(body), days)

    return edit_once(caller, resource, record_id, version, edit)


def keep_parts(
    caller: Caller, resource: Resource, record_id: str, version: str, parts: Body, days: Days | None = None
) -> Kept:
    """Put some fields of a record in the place of what they were; null takes one away. ``ChangedMeanwhile`` as ``keep_again``."""

    def edit(connection: Connection, matches: Matches) -> Kept:
        return edit_record(connection, resource, caller.household, record_id, matches, to_json(parts), days)

    return edit_once(caller, resource, record_id, version, edit)


def edit_once(
    caller: Caller, resource: Resource, record_id: str, version: str, edit: Callable[[Connection, Matches], Kept]
) -> Kept:
    """Carry out an edit of a form that was made from a version.

    A form that was sent twice finds what it asks for there already, and nothing to do. ``ChangedMeanwhile`` where the record
    is of another version and would become another one.
    """
    try:
        with caller.store.writing() as connection:
            return edit(
                connection,
                made_from(version, lambda: show_record(connection, resource, caller.household, record_id)),
            )
    except ChangedMeanwhile as changed:
        try:
            with caller.store.writing() as connection:
                kept = edit(connection, lambda _version: None)
                if str(kept.record.version) != str(changed.theirs["version"]):
                    raise changed
                return kept
        except (LunchError, ValidationError):
            raise changed from None


def take_away(caller: Caller, resource: Resource, record_id: str, version: str) -> None:
    """Remove a record, or find it removed already; ``StillUsed`` where something names it, ``ChangedMeanwhile`` where it was changed."""

    def there() -> Record:
        with caller.store.reading() as connection:
            return show_record(connection, resource, caller.household, record_id)

    try:
        remove_for_good(caller.store, caller.household, resource, record_id, made_from(version, there))
    except NotThere:
        if not is_kept_id(record_id):
            raise


def made_from(version: str, now: Callable[[], Record]) -> Matches:
    """Raises ``ChangedMeanwhile`` unless a record has the version that the form was made from."""

    def matches(there: int) -> None:
        if str(there) != version:
            raise ChangedMeanwhile(with_version(now()))

    return matches


def with_version(record: Record) -> dict[str, Any]:
    """A record with its id, times, version and fields."""
    return {**shown(record), "version": record.version}


def once(caller: Caller, key: str, what: str, create: Callable[[Connection], Made]) -> Made:
    """Carry something out once, however often the form is sent; ``what``: says what it was, to tell forms apart."""
    same = hashlib.sha256(what.encode()).hexdigest()
    return carry_out(caller.store, caller.household, key or None, same, create)
