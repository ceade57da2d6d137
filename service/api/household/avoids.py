"""What a child avoids, for other programs: as JSON or FHIR R4, and taken over from a FHIR R4 list."""

from typing import Annotated, Any

import orjson
from fastapi import APIRouter, Depends, Path, Request, Response

from service.api.answers import (
    AS_JSON,
    BODY_FAULTS,
    ETAG,
    V1,
    NoParameters,
    Responses,
    each_parameter_once,
    json_reply,
    not_modified,
    problems,
)
from service.api.bodies import FHIR, JSON, FhirBody
from service.api.conditions import AlreadyKnown, EditedFrom, Matches, etag
from service.api.gate.callers import Keeper, Reader
from service.api.household.records import TAG
from service.api.household.replies import AvoidsPage, AvoidsTakenOver
from service.api.media import accepted_of
from service.jobs.household.access.opened import Caller
from service.jobs.household.children.child_avoids import show_avoids, show_avoids_as_fhir, take_over_avoids
from service.jobs.household.kinds import CHILDREN
from service.jobs.requests.fhir import FhirAvoids

router = APIRouter(prefix=V1, tags=[TAG])

AS_FHIR: Responses = {
    200: {"content": {FHIR: {"schema": {"type": "object", "description": "A Bundle of AllergyIntolerance, FHIR R4."}}}}
}
ChildId = Annotated[
    str, Path(description="Id of the child; GET /v1/children lists them.", json_schema_extra={"format": "uuid"})
]
EDIT_PROBLEMS = problems(*BODY_FAULTS, 403, 404, 412, 428) | {200: {"headers": ETAG}}


AvoidsBody = FhirBody(FhirAvoids)


async def accepted_form(request: Request) -> str:
    """The media type to answer with; ``ApiProblem`` (406) where none is accepted."""
    return accepted_of(request, JSON, FHIR)


@router.get(
    "/children/{child_id}/avoids",
    response_model=AvoidsPage,
    responses=problems(400, 404) | {**not_modified(), 200: {**not_modified()[200], **AS_FHIR[200]}},
    summary="What a child avoids",
    operation_id="show-avoids",
    dependencies=[Depends(each_parameter_once)],
)
def get_avoids(
    caller: Reader,
    _none: NoParameters,
    known: AlreadyKnown,
    form: Annotated[str, Depends(accepted_form)],
    child_id: ChildId,
) -> Response:
    """Each allergen the child avoids, with its GS1 code. Ask with Accept for application/fhir+json: a Bundle of
    AllergyIntolerance (FHIR R4) with SNOMED CT and GS1 codes, status unconfirmed, no name. What the school bans is not in
    it. Without an entry nothing is known; it does not say that there is no allergy. ETag is the version of the child's record.
    """
    show = show_avoids_as_fhir if form == FHIR else show_avoids
    with caller.store.reading() as connection:
        reply, version = show(connection, CHILDREN, caller.household, child_id)
    headers = {"ETag": etag(version), "Vary": "Accept"}
    if known(headers["ETag"]):
        return Response(status_code=304, headers=headers)
    return Response(orjson.dumps(reply), headers=headers, media_type=form)


@router.put(
    "/children/{child_id}/avoids",
    response_model=AvoidsTakenOver,
    responses=EDIT_PROBLEMS,
    summary="Replace what a child avoids",
    operation_id="replace-avoids",
    dependencies=AS_JSON,
)
def put_avoids(
    caller: Keeper, matches: EditedFrom, asked: Annotated[FhirAvoids, Depends(AvoidsBody)], child_id: ChildId
) -> Response:
    """Put a FHIR R4 list (an AllergyIntolerance, or a Bundle with some) in the place of what the child avoids. A list with
    a code that is not known is refused whole. `removed` says what is not avoided any more, `left_out` what the list has
    that was not taken over, and why. A list that makes the child avoid nothing is refused.
    """
    return _taken_over(caller, matches, asked, child_id, add=False)


@router.post(
    "/children/{child_id}/avoids",
    response_model=AvoidsTakenOver,
    responses=EDIT_PROBLEMS,
    summary="Add to what a child avoids",
    operation_id="add-avoids",
    dependencies=AS_JSON,
)
def post_avoids(
    caller: Keeper, matches: EditedFrom, asked: Annotated[FhirAvoids, Depends(AvoidsBody)], child_id: ChildId
) -> Response:
    """Add a FHIR R4 list to what the child avoids; of two thresholds the stricter stays. Sent again, it changes nothing."""
    return _taken_over(caller, matches, asked, child_id, add=True)


def _taken_over(caller: Caller, matches: Matches, asked: FhirAvoids, child_id: str, *, add: bool) -> Response:
    with caller.store.writing() as connection:
        done: Any = take_over_avoids(connection, CHILDREN, caller.household, child_id, matches, asked, add=add)
    return json_reply(done.reply, headers={"ETag": etag(done.version)})
