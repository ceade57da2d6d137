"""Households and their access keys: made, recognised, revoked. Only the hash of a key is stored."""

import hashlib
import secrets
from datetime import datetime
from typing import Any, Literal, NamedTuple
from uuid import UUID

from sqlalchemy import Connection, bindparam, delete, insert, select, update

from service.domain.errors import NotThere
from service.domain.messages import message
from service.store.household.records import new_id, now, now_or_later
from service.store.tables import access_keys, households
from service.store.wiping import note_removal

Rights = Literal["keep", "pack", "read"]
"""``keep``: everything; ``pack``: see all, and log what is packed for the day; ``read``: see only."""

SECRET_BYTES = 32


class AccessKey(NamedTuple):
    """A key without its secret. ``ends_at``: None: it has no end; ``last_used_at``: about when; None: never."""

    id: UUID
    household_id: UUID
    name: str
    rights: Rights
    created_at: datetime
    revoked_at: datetime | None
    ends_at: datetime | None = None
    last_used_at: datetime | None = None


_KEY = [access_keys.c[name] for name in AccessKey._fields]
# Made once: these are asked with every request.
_OF_SECRET = select(*_KEY).where(
    access_keys.c.secret_hash == bindparam("secret_hash"), access_keys.c.revoked_at.is_(None)
)
_BODY = select(households.c.body).where(households.c.id == bindparam("household"))


def create_household(connection: Connection, body: dict[str, Any]) -> UUID:
    """Make a household; its id."""
    household, moment = new_id(), now()
    connection.execute(
        insert(households).values(id=household, version=1, created_at=moment, updated_at=moment, body=body)
    )
    return household


def all_households(connection: Connection) -> list[tuple[UUID, dict[str, Any]]]:
    """Id and body of every household, in the order they were made."""
    rows = connection.execute(select(households.c.id, households.c.body).order_by(households.c.id))
    return [(row.id, row.body) for row in rows]


def household_body(connection: Connection, household: UUID, *, hold: bool = False) -> dict[str, Any]:
    """What a household says of itself; ``hold``: nobody else changes it until the transaction ends; records may be made meanwhile."""
    query = _BODY.with_for_update(key_share=True) if hold else _BODY
    return dict(connection.execute(query, {"household": household}).scalar_one())


def change_household(connection: Connection, household: UUID, body: dict[str, Any]) -> None:
    """Store what a household says of itself now."""
    connection.execute(
        update(households)
        .where(households.c.id == household)
        .values(version=households.c.version + 1, updated_at=now_or_later(households), body=body)
    )


def remove_household(connection: Connection, household: UUID) -> None:
    """Delete a household with everything it stores; ``NotThere`` if there is none of that id."""
    if connection.execute(delete(households).where(households.c.id == household)).rowcount == 0:
        raise NotThere(
            pointer="/id",
            value=str(household),
            problem=message("fault.not-here", noun="household"),
        )
    note_removal(connection)


def hash_of(secret: str) -> str:
    """What is stored of a secret: its SHA-256; the secret itself has 256 random bits, so none slower is needed."""
    return hashlib.sha256(secret.encode()).hexdigest()


def create_key(
    connection: Connection,
    household: UUID,
    name: str,
    rights: Rights,
    key_id: UUID | None = None,
    ends_at: datetime | None = None,
) -> tuple[AccessKey, str]:
    """Make a key; gives it and its secret, which is nowhere kept. ``key_id``: its id, where that is fixed."""
    secret = secrets.token_urlsafe(SECRET_BYTES)
    key = AccessKey(key_id or new_id(), household, name, rights, now(), None, ends_at)
    connection.execute(insert(access_keys).values(secret_hash=hash_of(secret), **key._asdict()))
    return key, secret


def key_of_secret(connection: Connection, secret: str) -> AccessKey | None:
    """The key that a secret belongs to, unless it was revoked; whether its time is over is looked at elsewhere."""
    row = connection.execute(_OF_SECRET, {"secret_hash": hash_of(secret)}).first()
    return None if row is None else AccessKey._make(row)


def keys_of(connection: Connection, household: UUID) -> list[AccessKey]:
    """All keys of a household, revoked ones too."""
    rows = connection.execute(select(*_KEY).where(access_keys.c.household_id == household).order_by(access_keys.c.id))
    return [AccessKey._make(row) for row in rows]


def note_use_of_key(connection: Connection, key: UUID, moment: datetime) -> None:
    """Note that a key was used."""
    connection.execute(update(access_keys).where(access_keys.c.id == key).values(last_used_at=moment))


def lock_household(connection: Connection, household: UUID) -> None:
    """Keep others from changing this household's keys until the transaction ends (SQLite: they wait anyway)."""
    connection.execute(select(households.c.id).where(households.c.id == household).with_for_update())


def revoke_key(connection: Connection, household: UUID, key_id: UUID) -> None:
    """Make a key useless from now on; ``NotThere`` if this household has none of that id."""
    found = connection.execute(
        update(access_keys)
        .where(access_keys.c.id == key_id, access_keys.c.household_id == household)
        .values(revoked_at=now())
    )
    if found.rowcount == 0:
        raise NotThere(
            pointer="/id",
            value=str(key_id),
            problem=message("fault.not-here", noun="access key"),
        )
