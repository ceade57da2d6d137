"""Creations that are sent again are answered again, not carried out again (Idempotency-Key).

The first reply is kept for a day and given again as it was: it says what was done, and when. A lunch that is sent again
under its key is therefore not judged anew, whatever has changed since; nothing is kept by such a request. To have it
judged by what holds now, read the lunch and edit it, or check it.
"""

from collections.abc import Callable
from typing import Any, NamedTuple
from uuid import UUID

import orjson

from service.store.database import Store
from service.store.kept_replies import Taken, fill_place, find_reply, take_place
from service.store.records import Connection


class Reply(NamedTuple):
    """What a creation is answered with."""

    status: int
    body: dict[str, Any] | None
    headers: dict[str, str]


class KeyUsedBefore(Exception):
    """The key came with another request before; each creation needs a key of its own."""


def answer_once(
    store: Store,
    household: UUID,
    key: str | None,
    request_hash: str,
    create: Callable[[Connection], Reply],
    shown_once: frozenset[str] = frozenset(),
) -> Reply:
    """Carry out a creation; with a key, once for all requests of that key within a day. All in one transaction.

    ``request_hash``: of method, address and body. ``shown_once``: fields of the body that are kept nowhere; a repeated
    request gets null for them. ``KeyUsedBefore`` where the key came with another request.
    """
    if key is None:
        with store.writing() as connection:
            return create(connection)
    try:
        return _once(store, household, key, request_hash, create, shown_once)
    except Taken:  # by a request that ran at the same time; its reply is there now
        return _once(store, household, key, request_hash, create, shown_once)


def _once(
    store: Store,
    household: UUID,
    key: str,
    request_hash: str,
    create: Callable[[Connection], Reply],
    shown_once: frozenset[str],
) -> Reply:
    with store.writing() as connection:
        kept = find_reply(connection, household, key)
        if kept is not None:
            if kept.request_hash != request_hash:
                raise KeyUsedBefore
            return Reply(kept.status, orjson.loads(kept.reply), kept.headers)
        take_place(connection, household, key, request_hash)
        made = create(connection)
        shown = {**(made.body or {}), **dict.fromkeys(shown_once)}
        fill_place(connection, household, key, made.status, made.headers, orjson.dumps(shown))
        return made
