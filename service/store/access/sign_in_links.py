"""Links that sign in one device, once. Only the hash of a link's secret is stored."""

import secrets
from datetime import datetime, timedelta
from typing import NamedTuple
from uuid import UUID

from sqlalchemy import ColumnElement, Connection, delete, insert, or_, select, update

from service.store.access.devices import DeviceRights
from service.store.access.households import SECRET_BYTES, hash_of
from service.store.household.records import new_id
from service.store.tables import sign_in_links

AHEAD = timedelta(minutes=10)
"""A link that was made later than this moment by more than this was made by a clock that was set back since: it is of no use.

Otherwise it would work until its time has come once more, which may be years."""


class SignInLink(NamedTuple):
    """A link without its secret. ``name`` and ``rights``: those of the device that it signs in."""

    id: UUID
    household_id: UUID
    name: str
    rights: DeviceRights
    child_id: UUID | None
    created_at: datetime
    ends_at: datetime
    used_at: datetime | None


_LINK = [sign_in_links.c[name] for name in SignInLink._fields]


def create_link(
    connection: Connection,
    household: UUID,
    name: str,
    rights: DeviceRights,
    child: UUID | None,
    made_at: datetime,
    ends_at: datetime,
) -> tuple[SignInLink, str]:
    """Make a link; gives it and its secret, which is stored nowhere."""
    secret = secrets.token_urlsafe(SECRET_BYTES)
    link = SignInLink(new_id(), household, name, rights, child, made_at, ends_at, None)
    connection.execute(insert(sign_in_links).values(secret_hash=hash_of(secret), **link._asdict()))
    return link, secret


def link_works(connection: Connection, secret: str, moment: datetime) -> bool:
    """Whether there is a link with that secret that was not used and has not ended, by a clock that was not set back since."""
    return connection.execute(select(sign_in_links.c.id).where(*_still_works(secret, moment))).first() is not None


def _still_works(secret: str, moment: datetime) -> tuple[ColumnElement[bool], ...]:
    return (
        sign_in_links.c.secret_hash == hash_of(secret),
        sign_in_links.c.used_at.is_(None),
        sign_in_links.c.ends_at > moment,
        sign_in_links.c.created_at <= moment + AHEAD,
    )


def use_link(connection: Connection, secret: str, moment: datetime) -> SignInLink | None:
    """Use up a link; None if there is none with that secret, or it was used or ended before, or the clock was set back since.

    Of two that use it at once, the second waits for the first and finds it used.
    """
    row = connection.execute(
        update(sign_in_links).where(*_still_works(secret, moment)).values(used_at=moment).returning(*_LINK)
    ).first()
    return None if row is None else SignInLink._make(row)


def remove_ended_links(connection: Connection, moment: datetime) -> int:
    """Remove the links that can no longer be used; how many."""
    useless = or_(sign_in_links.c.ends_at <= moment, sign_in_links.c.created_at > moment + AHEAD)
    return connection.execute(delete(sign_in_links).where(useless)).rowcount
