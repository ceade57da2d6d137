"""What a household says of itself."""

from typing import Annotated, Any
from uuid import UUID

from pydantic import Field, TypeAdapter
from pydantic_core import to_json

from service.domain.errors import BadInput, Faults, NotThere
from service.domain.messages import message
from service.jobs.foods.by_id import food_by_id
from service.jobs.household.merge_patch import merge_patch
from service.jobs.requests.fields import WHOLE, Asked, Name, Region, is_kept_id
from service.jobs.requests.lunches import HoldingConditions
from service.store.access.households import change_household, household_body
from service.store.household.kinds import FOOD, RECIPE
from service.store.household.records import Connection, find
from service.store.retention import DEFAULT_MONTHS


class KeepInFridge(Asked):
    """That so many portions of a food are always to be in the fridge, filled up from the freezer."""

    food: Name = Field(description="Food id, or id of an own food or recipe.")
    portions: Annotated[float, Field(gt=0, le=100, multiple_of=0.25)] = Field(
        description="How many portions, in quarters."
    )


class HouseholdSettings(Asked):
    """A household's name, how long it keeps its lunches, how it cooks, how its lunches are kept cold, and its stock."""

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
    regions: Annotated[list[Region], Field(min_length=1, max_length=20)] | None = Field(
        None,
        description="Whose guidance on choking, holding and keeping it goes by, where a request names none; of several the "
        "stricter counts; null: that of all. One alone is also whose law the labels of its packets and own foods follow, where "
        "they say no other.",
    )
    keep_in_fridge: Annotated[list[KeepInFridge], Field(max_length=100)] = Field(
        default_factory=list,
        description="What is always to be in the fridge; GET /v1/stock-summary says what to move from the freezer tonight.",
    )


_JSON: TypeAdapter[Any] = TypeAdapter(Any)


def settings_of(connection: Connection, household: UUID, *, hold: bool = False) -> HouseholdSettings:
    """What a household has said of itself; what it has not is as at the start. ``hold``: to change it in this transaction."""
    return HouseholdSettings.model_validate(household_body(connection, household, hold=hold))


def edit_settings(connection: Connection, household: UUID, patch: bytes) -> HouseholdSettings:
    """Change some of it by a JSON Merge Patch (RFC 7396); the whole is validated. Lunches logged before stay as judged."""
    before = settings_of(connection, household, hold=True).model_dump(mode="json")
    whole = to_json(merge_patch(before, _JSON.validate_json(patch)), inf_nan_mode="constants")
    asked = HouseholdSettings.model_validate_json(whole)
    _see_foods(connection, household, asked.keep_in_fridge)
    change_household(connection, household, asked.model_dump(mode="json"))
    return asked


def forget_in_fridge(connection: Connection, household: UUID, food: UUID) -> None:
    """A food that goes is not always to be in the fridge any more."""
    before = settings_of(connection, household, hold=True)
    left = [one for one in before.keep_in_fridge if one.food != str(food)]
    if len(left) < len(before.keep_in_fridge):
        after = before.model_copy(update={"keep_in_fridge": left})
        change_household(connection, household, after.model_dump(mode="json"))


def _see_foods(connection: Connection, household: UUID, keeps: list[KeepInFridge]) -> None:
    """Every food is known, and named once. Its removal waits for the household, which is held: no food has to be held, too."""
    faults, seen = Faults(), set()
    for place, one in enumerate(keeps):
        with faults.at("keep_in_fridge", place, "food"):
            if one.food in seen:
                raise BadInput(value=one.food, problem=message("fault.food-twice"))
            seen.add(one.food)
            if not is_kept_id(one.food):
                food_by_id(one.food)
            elif not any(find(connection, kind, household, UUID(one.food)) for kind in (FOOD, RECIPE)):
                raise NotThere(value=one.food, problem=message("fault.not-here", noun="food or recipe"))
    faults.raise_all()
