"""Access keys of a household: made, listed, revoked. The secret is shown once, when the key is made."""

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
    revoke_key,
)
from service.store.database import Store, one_at_a_time
from service.store.household.records import Connection

FIRST_KEY_NAME = "first key"


class NewKey(Asked):
    """A key to make: what it is called, and what it may do."""

    name: ShortName = Field(description="Where it is used, e.g. kitchen tablet.")
    rights: Rights = Field(description="What it may do.")


def make_key(connection: Connection, household: UUID, asked: NewKey) -> tuple[dict[str, Any], str]:
    """Make a key; gives it as it is shown, and its secret, which is stored nowhere."""
    key, secret = create_key(connection, household, asked.name, asked.rights)
    return shown_key(key), secret


def list_keys(connection: Connection, household: UUID) -> list[dict[str, Any]]:
    """All keys of a household, revoked ones too, without their secrets."""
    return [shown_key(key) for key in keys_of(connection, household)]


def revoke(connection: Connection, household: UUID, key_id: str) -> None:
    """Make a key useless from now on; ``LastKeepKey`` for the last that may do everything.

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
    left = [key for key in keys.values() if key.revoked_at is None and key.rights == "keep" and str(key.id) != key_id]
    if keys[key_id].rights == "keep" and not left:
        raise LastKeepKey(
            pointer="/id",
            value=key_id,
            problem=message("fault.last-keep-key"),
        )
    revoke_key(connection, household, keys[key_id].id)


def recognise(store: Store, secret: str) -> AccessKey | None:
    """The key that a secret belongs to, unless it was revoked."""
    with store.reading() as connection:
        return key_of_secret(connection, secret)


def make_first_key(store: Store) -> str | None:
    """Make a household and a key to it if the store has none yet; the key's secret, or None if there is one.

    Of several servers that first start at once, one makes the household and the others wait for it.
    """
    with store.writing() as connection:
        one_at_a_time(connection)
        if all_households(connection):
            return None
        household = create_household(connection, HouseholdSettings().model_dump(mode="json"))
        _key, secret = create_key(connection, household, FIRST_KEY_NAME, "keep")
        return secret


def shown_key(key: AccessKey) -> dict[str, Any]:
    """A key as it is shown."""
    return {
        "id": str(key.id),
        "name": key.name,
        "rights": key.rights,
        "created_at": _moment(key.created_at),
        "revoked_at": None if key.revoked_at is None else _moment(key.revoked_at),
    }


def _moment(moment: Any) -> str:
    return str(moment.isoformat(timespec="seconds")).replace("+00:00", "Z")
