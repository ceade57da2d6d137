"""A child's lunch of a day, at the address of that day: kept there, or put in the place of the one that is there."""

from typing import Annotated, Any, cast

from fastapi import APIRouter, Depends, Path, Response
from pydantic import Field, create_model

from service.api.answers import AS_JSON, BODY_FAULTS, ETAG, LOCATION, V1, json_reply, problems
from service.api.bodies import Sent, SentJson
from service.api.conditions import PutOver, etag
from service.api.gate.callers import Packer
from service.api.household.records import CREATED, TAG, days_of
from service.api.household.replies import LoggedLunchReply
from service.jobs.household.days.lunches import put_lunch_of_day
from service.jobs.household.kinds import CHILDREN, LUNCHES
from service.jobs.household.records import show_record
from service.jobs.household.requests import LoggedLunch
from service.jobs.requests.fields import Day, KeptId

router = APIRouter(prefix=V1, dependencies=AS_JSON, tags=[TAG])

_OF_THE_ADDRESS: Any = {
    "child": (KeptId | None, Field(None, description="Id of the child; if given, that of the address.")),
    "date": (Day | None, Field(None, description="The day, YYYY-MM-DD; if given, that of the address.")),
}
LunchOfDay = cast(
    type[LoggedLunch],
    create_model(
        "LunchOfDay",
        __base__=LUNCHES.replacement,
        __doc__="A child's lunch of the day in the address. What the service itself says of a lunch may be sent back as "
        "read, and is ignored.",
        **_OF_THE_ADDRESS,
    ),
)


@router.put(
    "/children/{child_id}/lunches/{date}",
    response_model=LoggedLunchReply,
    responses=problems(*BODY_FAULTS, 403, 404, 409, 412, 428)
    | {
        200: {"headers": ETAG},
        CREATED: {
            "model": LoggedLunchReply,
            "description": "There was none of that day; it is kept now.",
            "headers": ETAG | LOCATION,
        },
    },
    summary="Put a child's lunch of a day",
    operation_id="put-lunch-of-day",
)
def put_lunch(
    matches: PutOver,
    caller: Packer,
    sent: Annotated[Sent, Depends(SentJson(LunchOfDay))],
    child_id: Annotated[KeptId, Path(description="Id of the child; GET /v1/children lists them.")],
    day: Annotated[Day, Path(alias="date", description="The day of the lunch, YYYY-MM-DD.")],
) -> Response:
    """Keep the lunch of that day, or replace the one that is there, checked and screened as by POST /v1/lunches.

    Sent whole; what is left out gets its default. `If-None-Match: *` only where there is none yet, `If-Match` with the
    ETag only where it is still the one that was read.
    """
    of_address = {"child": sent.asked.child or child_id, "date": sent.asked.date or day}
    asked = sent.asked.model_copy(update=of_address)
    with caller.store.writing() as connection:
        show_record(connection, CHILDREN, caller.household, child_id)  # 404 before any condition is looked at
        kept = put_lunch_of_day(connection, caller.household, child_id, day, asked, matches, days_of(caller))
    headers = {"ETag": etag(kept.record.version)}
    body = {
        "lunch": kept.shown,
        "check": None,
        "screening": None,
        "family_rule": None,
        "stock": None,
        **(kept.extra_reply or {}),
    }
    if not kept.created:
        return json_reply(body, headers=headers)
    return json_reply(body, CREATED, headers | {"Location": f"{LUNCHES.path}/{kept.record.id}"})
