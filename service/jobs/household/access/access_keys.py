"""Access keys of a household: made, listed, revoked. The secret is shown once, when the key is made."""

from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from pydantic import Field

from service.domain.errors import LastKeepKey, NotThere
from service.domain.messages import message
from service.jobs.household.settings import HouseholdSettings
from service.jobs.requests.fields import Asked, ShortName, is_kept_id
from service.jobs.word_lists import Rights
from service.store.access.households import (
    AccessKey,
    all_households,
    create_household,
    create_key,
    key_of_secret,
    keys_of,
    lock_household,
    note_use_of_key,
    revoke_key,
)
from service.store.database import Store, one_at_a_time
from service.store.household.records import Connection, now

FIRST_KEY_NAME = "first key"
LONGEST_DAYS = 3650
NOTED_EVERY = timedelta(hours=1)
"""A key's use is noted at most so often: reading should not write to the store each time (ours)."""


class NewKey(Asked):
    """A key to make: what it is called, what it may do, and for how long."""

    name: ShortName = Field(description="Where it is used, e.g. kitchen tablet.")
    rights: Rights = Field(description="What it may do.")
    days: int | None = Field(
        None, ge=1, le=LONGEST_DAYS, description="For how many days from now; left out: until it is revoked."
    )


def make_key(connection: Connection, household: UUID, asked: NewKey) -> tuple[dict[str, Any], str]:
    """Make a key; gives it as it is shown, and its secret, which is stored nowhere."""
    ends_at = None if asked.days is None else now() + timedelta(days=asked.days)
    key, secret = create_key(connection, household, asked.name, asked.rights, ends_at=ends_at)
    return shown_key(key), secret


def list_keys(connection: Connection, household: UUID) -> list[dict[str, Any]]:
    """All keys of a household, revoked ones too, without their secrets."""
    return [shown_key(key) for key in keys_of(connection, household)]


def revoke(connection: Connection, household: UUID, key_id: str) -> None:
    """Make a key useless from now on; ``LastKeepKey`` for the last that may do everything and has no end.

    One that was revoked before stays as it is.
    """
    lock_household(connection, household)
    keys = {str(key.id): key for key in keys_of(connection, household)}
    if not is_kept_id(key_id) or key_id not in keys:
        raise NotThere(
            pointer="/id",
            value=key_id,
            problem=message("fault.not-here", noun="access key"),
        )
    if keys[key_id].revoked_at is not None:
        return
    this = keys[key_id]
    left = [key for key in keys.values() if _keeps_for_good(key) and key.id != this.id]
    if _keeps_for_good(this) and not left:
        raise LastKeepKey(
            pointer="/id",
            value=key_id,
            problem=message("fault.last-keep-key"),
        )
    revoke_key(connection, household, this.id)


def _keeps_for_good(key: AccessKey) -> bool:
    return key.rights == "keep" and key.revoked_at is None and key.ends_at is None


def recognise(store: Store, secret: str) -> AccessKey | None:
    """The key that a secret belongs to, unless it was revoked; also one whose time is over."""
    with store.reading() as connection:
        return key_of_secret(connection, secret)


def has_ended(key: AccessKey, moment: datetime | None = None) -> bool:
    """Whether the time that a key was made for is over. ``moment``: when; left out: now."""
    return key.ends_at is not None and key.ends_at <= (moment or now())


def is_to_be_noted(key: AccessKey, moment: datetime | None = None) -> bool:
    """Whether no use of a key was noted for a while. ``moment``: when it is used; left out: now."""
    return key.last_used_at is None or (moment or now()) - key.last_used_at >= NOTED_EVERY


def note_key_use(store: Store, key: UUID, moment: datetime | None = None) -> None:
    """Note that a key was used; another time where somebody else is writing just now, or nothing can be written."""
    store.write_unless_busy(lambda connection: note_use_of_key(connection, key, moment or now()))


def make_first_household(store: Store, *, with_key: bool) -> tuple[bool, str | None]:
    """Make a household if the store has none yet; whether it was made, and the secret of its first key (``with_key``).

    Of several servers that first start at once, one makes the household and the others wait for it.
    """
    with store.writing() as connection:
        one_at_a_time(connection)
        if all_households(connection):
            return False, None
        household = create_household(connection, HouseholdSettings().model_dump(mode="json"))
        return True, create_key(connection, household, FIRST_KEY_NAME, "keep")[1] if with_key else None


def make_first_key(store: Store) -> str | None:
    """The secret of the first key, where the first household was made with it; None where there was one."""
    return make_first_household(store, with_key=True)[1]


def shown_key(key: AccessKey) -> dict[str, Any]:
    """A key as it is shown."""
    return {
        "id": str(key.id),
        "name": key.name,
        "rights": key.rights,
        "created_at": _moment(key.created_at),
        "ends_at": _moment(key.ends_at),
        "ended": has_ended(key),
        "last_used_at": _moment(key.last_used_at),
        "revoked_at": _moment(key.revoked_at),
    }


def _moment(moment: datetime | None) -> str | None:
    return None if moment is None else moment.isoformat(timespec="seconds").replace("+00:00", "Z")
