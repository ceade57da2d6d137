"""What a household says of itself: shown, and edited."""

from typing import Annotated

from fastapi import APIRouter, Depends, Response

from service.api.answers import AS_JSON, BODY_FAULTS, V1, NoParameters, json_reply, problems
from service.api.bodies import MergePatch
from service.api.gate.callers import Keeper, Reader
from service.api.household.records import TAG
from service.api.household.replies import SettingsShown
from service.jobs.household.settings import HouseholdSettings, edit_settings, settings_of

router = APIRouter(prefix=V1, dependencies=AS_JSON, tags=[TAG])


@router.get(
    "/household",
    response_model=SettingsShown,
    responses=problems(),
    summary="What the household says of itself",
    operation_id="show-household",
)
def get_household(caller: Reader, _none: NoParameters) -> Response:
    """Its name, how long it keeps its lunches, whether it salts the water it cooks in, and how its lunches are kept."""
    with caller.store.reading() as connection:
        return json_reply(settings_of(connection, caller.household).model_dump(mode="json"))


@router.patch(
    "/household",
    response_model=SettingsShown,
    responses=problems(*BODY_FAULTS, 403),
    summary="Edit what the household says of itself",
    operation_id="edit-household",
)
def patch_household(caller: Keeper, patch: Annotated[bytes, Depends(MergePatch(HouseholdSettings))]) -> Response:
    """Edit parts by JSON Merge Patch (RFC 7396): null removes a field; the whole is validated again. Whether cooking
    water is salted counts from now on in every check, offer, lunch and week; a lunch logged under another answer keeps that one.
    """
    with caller.store.writing() as connection:
        return json_reply(edit_settings(connection, caller.household, patch).model_dump(mode="json"))
