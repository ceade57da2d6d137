"""Replies to creations, kept for a day, so that a request sent again is answered again and not carried out again.

The place of a reply is taken before the creation and filled after it, in the creation's transaction: of two requests
with the same key at once the second waits for the first and then finds its reply.

A clock that leaps must not make a request be carried out twice. So a reply that is there is answered with, however old it
seems, and it is thrown out in two steps: first it is marked as older than a day, then it goes a day after that.
"""

from collections.abc import Collection
from datetime import timedelta
from typing import Any, NamedTuple
from uuid import UUID

from sqlalchemy import Connection, delete, insert, select, update
from sqlalchemy.exc import IntegrityError

from service.store.household.records import now
from service.store.tables import kept_replies

KEPT = timedelta(hours=24)
"""How long a reply is kept at the least."""


class KeptReply(NamedTuple):
    """A reply as it was sent, and the hash of the request it answered."""

    request_hash: str
    status: int
    headers: dict[str, str]
    reply: bytes


class Taken(Exception):
    """Another request with the same key came first; its reply is there now. The transaction is given up."""


def find_reply(connection: Connection, household: UUID, key: str) -> KeptReply | None:
    """The reply kept under a key, or None."""
    columns = [kept_replies.c[name] for name in KeptReply._fields]
    row = connection.execute(select(*columns).where(*_this(household, key))).first()
    return None if row is None else KeptReply._make(row)


def take_place(connection: Connection, household: UUID, key: str, request_hash: str) -> None:
    """Take the place for a reply, and throw out this household's old ones; ``Taken`` if another was faster."""
    table = kept_replies
    remove_old_replies(connection, household)
    values: dict[str, Any] = {"household_id": household, "idempotency_key": key, "request_hash": request_hash}
    try:
        connection.execute(insert(table).values(**values, status=0, headers={}, reply=b"", created_at=now()))
    except IntegrityError as fault:
        raise Taken from fault


def fill_place(
    connection: Connection, household: UUID, key: str, status: int, headers: dict[str, str], reply: bytes
) -> None:
    """Keep the reply in the place taken for it."""
    connection.execute(
        update(kept_replies).where(*_this(household, key)).values(status=status, headers=headers, reply=reply)
    )


def remove_old_replies(connection: Connection, household: UUID) -> int:
    """Throw out a household's replies that were marked as older than a day more than a day ago, and mark others; how many."""
    table, moment = kept_replies, now()
    own = table.c.household_id == household
    marked_later = (own, table.c.old_since > moment)  # by a clock that was set back since
    connection.execute(update(table).where(*marked_later).values(old_since=None))
    gone = connection.execute(delete(table).where(own, table.c.old_since <= moment - KEPT)).rowcount
    old = (own, table.c.old_since.is_(None), table.c.created_at <= moment - KEPT)
    connection.execute(update(table).where(*old).values(old_since=moment))
    return gone


def forget_replies_naming(connection: Connection, household: UUID, record_ids: Collection[UUID]) -> None:
    """Throw out the replies that speak of records: what is removed leaves nothing behind."""
    if not record_ids:
        return
    signs = [str(one).encode() for one in record_ids]
    rows = connection.execute(
        select(kept_replies.c.idempotency_key, kept_replies.c.reply).where(kept_replies.c.household_id == household)
    ).all()
    for key in [row.idempotency_key for row in rows if any(sign in row.reply for sign in signs)]:
        connection.execute(delete(kept_replies).where(*_this(household, key)))


def _this(household: UUID, key: str) -> tuple[Any, Any]:
    return kept_replies.c.household_id == household, kept_replies.c.idempotency_key == key
