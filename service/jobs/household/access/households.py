"""Households: made, listed, removed."""

from datetime import date
from typing import Any
from uuid import UUID

from pydantic_core import to_json

from service.jobs.household.access.access_keys import FIRST_KEY_NAME, has_ended
from service.jobs.household.settings import HouseholdSettings, edit_settings
from service.store.access.households import all_households, create_household, create_key, keys_of, remove_household
from service.store.database import Store
from service.store.household.kinds import CHILD, LUNCH
from service.store.household.whole_household import count_records, holds_records
from service.store.wiping import Wiped, wipe


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


def forget_household(store: Store, household: UUID) -> Wiped:
    """Remove a household with everything it stores; whether anything of it is left behind in the files."""
    with store.writing() as connection:
        remove_household(connection, household)
    return wipe(store)


def keeps_nothing(store: Store, household: UUID) -> bool:
    """Whether a household stores nothing yet but what it says of itself."""
    with store.reading() as connection:
        return not holds_records(connection, household)


def today() -> date:
    """The kitchen's own calendar day."""
    return date.today()  # noqa: DTZ011 - the kitchen's own calendar day
