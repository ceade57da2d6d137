"""Creations that are carried out once, however often they are sent: by a key that the caller gives each of them.

A creation that is sent again is answered with its first reply, which says what was done, and when. A lunch sent again
under its key is therefore not judged anew, whatever has changed since: nothing is kept by such a request. To have it
judged by what holds now, edit it, or check it.
"""

from collections.abc import Callable
from typing import Any, NamedTuple
from uuid import UUID

import orjson

from service.domain.errors import LunchError
from service.domain.messages import message
from service.store.database import Store
from service.store.household.records import Connection
from service.store.kept_replies import KeptReply, Taken, fill_place, find_reply, take_place


class Made(NamedTuple):
    """What a creation is answered with."""

    status: int
    body: dict[str, Any]
    headers: dict[str, str]


class RepeatKeyReused(LunchError):
    """A key of a creation that came with another request before."""

    slug = "idempotency-key-reused"


Create = Callable[[Connection], Made]


def carry_out(
    store: Store,
    household: UUID,
    key: str | None,
    request_hash: str,
    create: Create,
    secrets: frozenset[str] = frozenset(),
) -> Made:
    """Carry out a creation in one transaction; with a key, once for all requests of that key within a day.

    ``secrets``: fields of the answer that are shown once and kept nowhere; a repeated request gets null for them.
    Raises ``RepeatKeyReused`` where the key came with another request (another ``request_hash``).
    """
    if key is None:
        with store.writing() as connection:
            return create(connection)
    try:
        return _once(store, household, key, request_hash, create, secrets)
    except Taken:  # by a request that ran at the same time; its reply is there now
        return _once(store, household, key, request_hash, create, secrets)


def _once(store: Store, household: UUID, key: str, request_hash: str, create: Create, secrets: frozenset[str]) -> Made:
    with store.writing() as connection:
        kept = find_reply(connection, household, key)
        if kept is not None:
            return _again(kept, key, request_hash)
        take_place(connection, household, key, request_hash)
        made = create(connection)
        shown = {**made.body, **dict.fromkeys(secrets)}
        fill_place(connection, household, key, made.status, made.headers, orjson.dumps(shown))
        return made


def _again(kept: KeptReply, key: str, request_hash: str) -> Made:
    if kept.request_hash != request_hash:
        raise RepeatKeyReused(
            pointer="/idempotency_key",
            value=key,
            problem=message("fault.repeat-key-reused"),
        )
    return Made(kept.status, orjson.loads(kept.reply), kept.headers)
