"""Lunch checks, and the standards they are checked against."""

from typing import Annotated

import orjson
from fastapi import APIRouter, Depends, Query, Request, Response
from pydantic import Field

from service.api.answers import (
    AS_JSON,
    BODY_FAULTS,
    V1,
    NoParameters,
    Parameters,
    Responses,
    json_reply,
    not_modified,
    problems,
    reference_reply,
)
from service.api.bodies import JSON, LARGE, LINKED, JsonBody, announced_bytes
from service.api.conditions import AlreadyKnown
from service.api.lunch.replies import LunchCheckReply, StandardList, StandardReply
from service.api.media import accepted_of
from service.jobs.foods.as_recipe import lunch_as_recipe
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.lunch.standards import list_standards, show_standard
from service.jobs.requests.fields import Day
from service.jobs.requests.lunches import LunchCheckRequest, LunchCheckWithIds

router = APIRouter(prefix=V1)

PLAIN = (None, "*/*", JSON)
"""What callers who take JSON mostly send as Accept."""
AS_RECIPE: Responses = {
    200: {
        "content": {LINKED: {"schema": {"type": "object", "description": "The lunch as schema.org Recipe (JSON-LD)."}}}
    }
}

CheckBody = JsonBody(LunchCheckRequest, LunchCheckWithIds)


class DayQuery(Parameters):
    """The day to ask for."""

    on: Day = Field(description="The day, as YYYY-MM-DD.")


@router.post(
    "/lunch-checks",
    response_model=LunchCheckReply,
    responses=problems(*BODY_FAULTS, 404) | AS_RECIPE,
    summary="Check one lunch",
    operation_id="check-lunch",
    tags=["checks"],
)
async def post_lunch_check(request: Request, asked: Annotated[LunchCheckRequest, Depends(CheckBody)]) -> Response:
    """Check a packed lunch for one child against one standard on one day.

    The answer has the verdict, a finding for every target with its source, the allergens the child must avoid,
    choking forms, cold and hot holding, and up to five single changes that put most right. Stores nothing.
    Ask with Accept for application/ld+json: the lunch as schema.org Recipe with its NutritionInformation, without the
    findings; a sum that is not known is left out.
    """
    # Not as a dependency: solving one more takes longer than the call itself.
    if request.headers.get("accept") not in PLAIN and accepted_of(request, JSON, LINKED) == LINKED:
        linked = await request.app.state.workers.checks.run(lambda: lunch_as_recipe(check_lunch(asked)))
        return Response(orjson.dumps(linked), headers={"Vary": "Accept"}, media_type=LINKED)
    if _is_quick(request, asked):
        return json_reply(check_lunch(asked))
    return json_reply(await request.app.state.workers.checks.run(check_lunch, asked))


def _is_quick(request: Request, asked: LunchCheckRequest) -> bool:
    """Whether a check takes a fraction of a millisecond: a small body, foods of the tables, no search for changes."""
    size = announced_bytes(request)
    return (
        size is not None
        and size < LARGE
        and not asked.max_changes
        and all(isinstance(item.food, str) for item in asked.lunch.items)
    )


@router.get(
    "/standards",
    response_model=StandardList,
    responses=problems(400) | not_modified(),
    summary="All standards",
    operation_id="list-standards",
    tags=["reference"],
    dependencies=AS_JSON,
)
def get_standards(_none: NoParameters, known: AlreadyKnown) -> Response:
    """The standards a lunch can be checked against, with their age groups and days."""
    return reference_reply(list_standards(), known)


@router.get(
    "/standards/{standard_id}",
    response_model=StandardReply,
    responses=problems(400, 404) | not_modified(),
    summary="One standard on a day",
    operation_id="show-standard",
    tags=["reference"],
    dependencies=AS_JSON,
)
def get_standard(standard_id: str, query: Annotated[DayQuery, Query()], known: AlreadyKnown) -> Response:
    """The rules of one standard that are in force on a day, by age group, each with its source.

    Ids are those of GET /v1/standards.
    """
    return reference_reply(show_standard(standard_id, query.on), known)
