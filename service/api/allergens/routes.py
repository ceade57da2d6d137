"""Allergen screenings, the vocabulary and legal lists, and the choking rules."""

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request, Response
from pydantic import Field

from service.api.allergens.replies import AllergenList, ChokingRuleList, ScreeningReply
from service.api.answers import (
    AS_JSON,
    BODY_FAULTS,
    V1,
    NoParameters,
    Parameters,
    json_reply,
    not_modified,
    problems,
    reference_reply,
)
from service.api.bodies import JsonBody
from service.api.conditions import AlreadyKnown
from service.jobs.allergens.lists import list_allergens, list_choking_rules
from service.jobs.allergens.screen_family import screen_family
from service.jobs.requests.fields import Day
from service.jobs.requests.screenings import ScreeningRequest, ScreeningWithIds

router = APIRouter(prefix=V1, dependencies=AS_JSON)

ScreeningBody = JsonBody(ScreeningRequest, ScreeningWithIds)


class AllergenQuery(Parameters):
    """Whose list, and on which day."""

    jurisdiction: str | None = Field(None, max_length=20, description="e.g. US, EU, GB, CA, AU, NZ, JP")
    on: Day | None = Field(None, description="The day, as YYYY-MM-DD; needed with jurisdiction.")


@router.post(
    "/allergen-screenings",
    response_model=ScreeningReply,
    responses=problems(*BODY_FAULTS, 404),
    summary="Screen many children against many items",
    operation_id="screen-allergens",
    tags=["checks"],
)
async def post_screening(request: Request, asked: Annotated[ScreeningRequest, Depends(ScreeningBody)]) -> Response:
    """Say for every child and item whether it holds what the child or the setting must avoid.

    Unknown fails closed. Also gives the order in which to make things. Stores nothing.
    """
    return json_reply(await request.app.state.workers.screenings.run(screen_family, asked))


@router.get(
    "/allergens",
    response_model=AllergenList,
    responses=problems(400) | not_modified(),
    summary="Allergens and legal lists",
    operation_id="list-allergens",
    tags=["reference"],
)
def get_allergens(query: Annotated[AllergenQuery, Query()], known: AlreadyKnown) -> Response:
    """The allergen vocabulary; with a jurisdiction and a day, how its law lists each."""
    return reference_reply(list_allergens(query.jurisdiction, query.on), known)


@router.get(
    "/choking-rules",
    response_model=ChokingRuleList,
    responses=problems(400) | not_modified(),
    summary="Choking rules",
    operation_id="list-choking-rules",
    tags=["reference"],
)
def get_choking_rules(_none: NoParameters, known: AlreadyKnown) -> Response:
    """Foods whose pieces are a choking concern, by age, and the forms guidance gives instead."""
    return reference_reply(list_choking_rules(), known)
