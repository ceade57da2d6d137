"""Households: made, listed, removed; lunches kept as long as a household wants are purged."""

from datetime import date
from typing import Any, NamedTuple
from uuid import UUID

from pydantic_core import to_json

from service.jobs.household.access.access_keys import FIRST_KEY_NAME, has_ended
from service.jobs.household.settings import HouseholdSettings, edit_settings
from service.store.access.devices import remove_ended_devices
from service.store.access.households import all_households, create_household, create_key, keys_of, remove_household
from service.store.access.sign_in_links import remove_ended_links
from service.store.database import Store
from service.store.household.kinds import CHILD, LUNCH
from service.store.household.records import now
from service.store.household.school_days import remove_school_days_before
from service.store.household.whole_household import count_records, holds_records
from service.store.retention import (
    count_lunches_before,
    first_day_kept,
    remove_lunches_before,
    remove_old_replies,
    remove_used_up_stock_before,
    retention_months,
)


def keeps_records(store: Store) -> bool:
    """Whether any household stores anything; a household alone is nothing yet."""
    with store.reading() as connection:
        return any(holds_records(connection, household) for household, _ in all_households(connection))


def list_households(store: Store) -> list[dict[str, Any]]:
    """The households with how much they keep."""
    with store.reading() as connection:
        return [
            {
                "id": str(household),
                **HouseholdSettings.model_validate(body).model_dump(),
                "children": count_records(connection, CHILD, household),
                "lunches": count_records(connection, LUNCH, household),
                "keys": sum(key.revoked_at is None and not has_ended(key) for key in keys_of(connection, household)),
            }
            for household, body in all_households(connection)
        ]


def make_household(
    store: Store, name: str, retention_months: int, salts_cooking_water: bool | None = None
) -> tuple[UUID, str]:
    """Make a household and a key that may do everything; its id and the key, which is stored nowhere."""
    asked = HouseholdSettings(name=name, retention_months=retention_months, salts_cooking_water=salts_cooking_water)
    with store.writing() as connection:
        household = create_household(connection, asked.model_dump(mode="json"))
        _, secret = create_key(connection, household, FIRST_KEY_NAME, "keep")
    return household, secret


def change_settings(store: Store, household: UUID, given: dict[str, Any]) -> dict[str, Any]:
    """Change what is given of what a household says of itself; all of it as it is now."""
    with store.writing() as connection:
        return edit_settings(connection, household, to_json(given)).model_dump(mode="json")


def forget_household(store: Store, household: UUID) -> None:
    """Remove a household with everything it stores."""
    with store.writing() as connection:
        remove_household(connection, household)


def keeps_nothing(store: Store, household: UUID) -> bool:
    """Whether a household stores nothing yet but what it says of itself."""
    with store.reading() as connection:
        return not holds_records(connection, household)


class ToGo(NamedTuple):
    """What the next purge removes of a household: its lunches before a day, and how many these are now."""

    first_day_kept: date
    lunches: int


def to_go(store: Store, household: UUID, months: int, today: date) -> ToGo:
    """What the next purge would remove if lunches were kept so many months."""
    first = first_day_kept(today, months)
    with store.reading() as connection:
        return ToGo(first, count_lunches_before(connection, household, first))


class Purged(NamedTuple):
    """What a purge did for a household: lunches and school days before the day are gone. ``removed``: how many lunches."""

    household: UUID
    first_day_kept: date
    removed: int


def purge(store: Store, today: date) -> list[Purged]:
    """Remove what is older than each household's retention on a day, old replies, and what is of no more use for signing
    in, all in one transaction.
    """
    done = []
    with store.writing() as connection:
        remove_old_replies(connection)
        remove_ended_links(connection, now())
        remove_ended_devices(connection, now())
        for household, body in all_households(connection):
            first = first_day_kept(today, retention_months(body))
            remove_school_days_before(connection, household, first)
            remove_used_up_stock_before(connection, household, first)
            done.append(Purged(household, first, remove_lunches_before(connection, household, first)))
    return done


def today() -> date:
    """The kitchen's own calendar day."""
    return date.today()  # noqa: DTZ011 - the kitchen's own calendar day
