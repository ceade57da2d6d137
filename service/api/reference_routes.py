"""The addresses besides the lunch check (which is documented here and served in ``routes``); loaded when first asked for."""

from typing import Annotated, Any

import orjson
from fastapi import APIRouter, Query, Request, Response
from pydantic import BaseModel, ConfigDict, Field

from service import __version__
from service.api.body_routes import JsonBodyRoute
from service.api.json_route import JSON
from service.api.routes import answer_lunch_check, problems
from service.jobs.allergens.lists import list_allergens, list_choking_rules
from service.jobs.allergens.screen_family import screen_family
from service.jobs.foods.search import search_foods, show_food
from service.jobs.lunch.standards import list_standards, show_standard
from service.jobs.requests import Day, LunchCheckRequest, ScreeningRequest
from service.reference.foods.generic_foods import generic_foods
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.lunch.standards import standard_ids

bodies = APIRouter(route_class=JsonBodyRoute)
plain = APIRouter()


class Parameters(BaseModel):
    """Query parameters; unknown ones are refused."""

    model_config = ConfigDict(extra="forbid")


class FoodQuery(Parameters):
    """What to search for."""

    q: str = Field("", max_length=100, description="Words or beginnings of words; empty lists everything.")
    limit: int = Field(20, ge=1, description="Foods on a page; more than 200 gives 200.")
    cursor: str | None = Field(None, max_length=100, description="The 'next' of the page before.")


class DayQuery(Parameters):
    """The day to ask for."""

    on: Day = Field(description="YYYY-MM-DD")


class AllergenQuery(Parameters):
    """Whose list, and on which day."""

    jurisdiction: str | None = Field(None, max_length=20, description="e.g. US, EU, GB, CA, AU, NZ, JP")
    on: Day | None = Field(None, description="YYYY-MM-DD; needed with jurisdiction")


def answer(reply: dict[str, Any]) -> Response:
    """A reply as it is written."""
    return Response(orjson.dumps(reply), media_type=JSON)


NoQuery = Annotated[Parameters, Query()]


@bodies.post(
    "/v1/lunch-checks",
    response_model=None,
    responses=problems(400, 401, 413, 415, 422),
    summary="Check one lunch",
    operation_id="check-lunch",
    tags=["checks"],
)
async def post_lunch_check(asked: LunchCheckRequest) -> dict[str, Any]:
    """Check a packed lunch for one child against one standard on one day.

    Tells the verdict, a finding for every target with its source, the allergens the child must avoid,
    choking forms, cold and hot holding, and up to five single changes that mend most. Stores nothing.
    """
    return await answer_lunch_check(asked)


@bodies.post(
    "/v1/allergen-screenings",
    response_model=None,
    responses=problems(400, 401, 413, 415, 422),
    summary="Screen many children against many items",
    operation_id="screen-allergens",
    tags=["checks"],
)
async def post_screening(asked: ScreeningRequest) -> dict[str, Any]:
    """Say for every child and item whether it holds what the child or the setting must avoid.

    Unknown fails closed. Also gives the order in which to make things. Stores nothing.
    """
    return screen_family(asked)


@plain.get(
    "/v1/foods",
    response_model=None,
    responses=problems(401, 422, 429, 503),
    summary="Search foods",
    operation_id="search-foods",
    tags=["reference"],
)
def get_foods(query: Annotated[FoodQuery, Query()], request: Request) -> Response:
    """Find foods by the beginnings of words, forgiving a misspelling; lunch foods come first.

    With a household's key, its own foods and recipes come before them.
    """
    if "household" in request.scope:
        from service.api.household.own_foods import own_foods_page

        return answer(own_foods_page(request.scope["household"], query.q, query.limit, query.cursor))
    return answer(search_foods(query.q, query.limit, query.cursor))


@plain.get(
    "/v1/foods/{food_id}",
    response_model=None,
    responses=problems(400, 401, 404, 422, 429, 503),
    summary="One food",
    operation_id="show-food",
    tags=["reference"],
)
def get_food(food_id: str, _query: NoQuery, request: Request) -> Response:
    """Everything known of one food: figures, portions, credits, allergens, forms, and their sources.

    With a household's key also of an own food or recipe, which has its ETag and ``kept``: what was kept of it.
    """
    if "household" in request.scope:
        from service.api.household.own_foods import own_food

        own = own_food(request.scope["household"], food_id, request.headers)
        if own is not None:
            return own
    return answer(show_food(food_id))


@plain.get(
    "/v1/standards",
    response_model=None,
    responses=problems(401, 422),
    summary="All standards",
    operation_id="list-standards",
    tags=["reference"],
)
def get_standards(_query: NoQuery) -> Response:
    """The standards a lunch can be checked against, with their age groups and days."""
    return answer(list_standards())


@plain.get(
    "/v1/standards/{standard_id}",
    response_model=None,
    responses=problems(401, 404, 422),
    summary="One standard on a day",
    operation_id="show-standard",
    tags=["reference"],
)
def get_standard(standard_id: str, query: Annotated[DayQuery, Query()]) -> Response:
    """The rules of one standard that are in force on a day, by age group, each with its source."""
    return answer(show_standard(standard_id, query.on))


@plain.get(
    "/v1/allergens",
    response_model=None,
    responses=problems(401, 422),
    summary="Allergens and legal lists",
    operation_id="list-allergens",
    tags=["reference"],
)
def get_allergens(query: Annotated[AllergenQuery, Query()]) -> Response:
    """The allergen vocabulary; with a jurisdiction and a day, how its law lists each."""
    return answer(list_allergens(query.jurisdiction, query.on))


@plain.get(
    "/v1/choking-rules",
    response_model=None,
    responses=problems(401, 422),
    summary="Choking rules",
    operation_id="list-choking-rules",
    tags=["reference"],
)
def get_choking_rules(_query: NoQuery) -> Response:
    """Foods whose pieces are a choking concern, by age, and the forms guidance gives instead."""
    return answer(list_choking_rules())


@plain.get("/v1/health", response_model=None, summary="Health", operation_id="health", tags=["service"])
def get_health() -> Response:
    """Whether the service can answer: the tables were read."""
    return answer(
        {
            "status": "ok",
            "version": __version__,
            "lunch_foods": len(lunch_foods()),
            "generic_foods": len(generic_foods()),
            "standards": len(standard_ids()),
        }
    )


ROUTES = [*bodies.routes, *plain.routes]
