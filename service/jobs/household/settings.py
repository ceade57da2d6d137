"""What a household says of itself."""

from typing import Annotated, Any
from uuid import UUID

from pydantic import Field, TypeAdapter
from pydantic_core import to_json

from service.jobs.household.merge_patch import merge_patch
from service.jobs.requests.fields import WHOLE, Asked, Name
from service.jobs.requests.lunches import HoldingConditions
from service.store.households import change_household, household_body
from service.store.records import Connection
from service.store.retention import DEFAULT_MONTHS


class HouseholdSettings(Asked):
    """A household's name, how long it keeps its lunches, how it cooks, and how its lunches are kept cold."""

    name: Name = "our household"
    retention_months: Annotated[int, Field(ge=1, le=240), WHOLE] = Field(
        DEFAULT_MONTHS, description="Months that lunches are kept; older ones are removed."
    )
    salts_cooking_water: bool | None = Field(
        None,
        description="Whether it salts the water in which it cooks pasta, rice, pulses and vegetables; null: it has not said, "
        "and no salt is counted.",
    )
    holding: HoldingConditions | None = Field(
        None,
        description="How its lunches are usually kept until they are eaten; null: it has not said. Audits of offers use it "
        "where they give none, and so do lunches taken on the pages.",
    )


_JSON: TypeAdapter[Any] = TypeAdapter(Any)


def settings_of(connection: Connection, household: UUID) -> HouseholdSettings:
    """What a household has said of itself; what it has not is as at the start."""
    return HouseholdSettings.model_validate(household_body(connection, household))


def edit_settings(connection: Connection, household: UUID, patch: bytes) -> HouseholdSettings:
    """Change some of it by a JSON Merge Patch (RFC 7396); the whole is validated. Lunches logged before stay as judged."""
    before = settings_of(connection, household).model_dump(mode="json")
    whole = to_json(merge_patch(before, _JSON.validate_json(patch)), inf_nan_mode="constants")
    asked = HouseholdSettings.model_validate_json(whole)
    change_household(connection, household, asked.model_dump(mode="json"))
    return asked
