"""The addresses of the API; each hands over to one job."""

from typing import Annotated, Any

from fastapi import APIRouter, FastAPI, Query
from pydantic import BaseModel, ConfigDict, Field

from service import __version__
from service.api import replies
from service.api.json_route import JsonBodyRoute
from service.jobs.check_lunch import check_lunch
from service.jobs.list_allergens import list_allergens, list_choking_rules
from service.jobs.list_standards import list_standards, show_standard
from service.jobs.requests import Day, LunchCheckRequest, ScreeningRequest
from service.jobs.screen_family import screen_family
from service.jobs.search_foods import search_foods, show_food
from service.reference.generic_foods import generic_foods
from service.reference.lunch_foods import lunch_foods
from service.reference.standards import standard_ids

Problems = dict[int | str, dict[str, Any]]


def _problems(*statuses: int) -> Problems:
    words = {
        400: "The body is no JSON.",
        401: "An access key is needed.",
        404: "There is no such thing.",
        413: "The body is too large.",
        415: "The body is not application/json.",
        422: "Something in the request is wrong; every fault is told with its place, value and remedy.",
    }
    return {status: {"model": replies.Problem, "description": words[status]} for status in statuses}


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


NoQuery = Annotated[Parameters, Query()]


bodies = APIRouter(route_class=JsonBodyRoute)
plain = APIRouter()


@bodies.post(
    "/v1/lunch-checks",
    response_model=replies.LunchCheckReply,
    responses=_problems(400, 401, 413, 415, 422),
    summary="Check one lunch",
    operation_id="check-lunch",
    tags=["checks"],
)
async def post_lunch_check(asked: LunchCheckRequest) -> dict[str, Any]:
    """Check a packed lunch for one child against one standard on one day.

    Tells the verdict, a finding for every target with its source, the allergens the child must avoid,
    choking forms, cold and hot holding, and up to five single changes that mend most. Stores nothing.
    """
    return check_lunch(asked)


@bodies.post(
    "/v1/allergen-screenings",
    response_model=replies.ScreeningReply,
    responses=_problems(400, 401, 413, 415, 422),
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
    response_model=replies.FoodPage,
    responses=_problems(401, 422),
    summary="Search foods",
    operation_id="search-foods",
    tags=["reference"],
)
def get_foods(query: Annotated[FoodQuery, Query()]) -> dict[str, Any]:
    """Find foods by the beginnings of words, forgiving a misspelling; lunch foods come first."""
    return search_foods(query.q, query.limit, query.cursor)


@plain.get(
    "/v1/foods/{food_id}",
    response_model=replies.FoodReply,
    responses=_problems(401, 404, 422),
    summary="One food",
    operation_id="show-food",
    tags=["reference"],
)
def get_food(food_id: str, _query: NoQuery) -> dict[str, Any]:
    """Everything known of one food: figures, portions, credits, allergens, forms, and their sources."""
    return show_food(food_id)


@plain.get(
    "/v1/standards",
    response_model=replies.StandardList,
    responses=_problems(401, 422),
    summary="All standards",
    operation_id="list-standards",
    tags=["reference"],
)
def get_standards(_query: NoQuery) -> dict[str, Any]:
    """The standards a lunch can be checked against, with their age groups and days."""
    return list_standards()


@plain.get(
    "/v1/standards/{standard_id}",
    response_model=replies.StandardReply,
    responses=_problems(401, 404, 422),
    summary="One standard on a day",
    operation_id="show-standard",
    tags=["reference"],
)
def get_standard(standard_id: str, query: Annotated[DayQuery, Query()]) -> dict[str, Any]:
    """The rules of one standard that are in force on a day, by age group, each with its source."""
    return show_standard(standard_id, query.on)


@plain.get(
    "/v1/allergens",
    response_model=replies.AllergenList,
    responses=_problems(401, 422),
    summary="Allergens and legal lists",
    operation_id="list-allergens",
    tags=["reference"],
)
def get_allergens(query: Annotated[AllergenQuery, Query()]) -> dict[str, Any]:
    """The allergen vocabulary; with a jurisdiction and a day, how its law lists each."""
    return list_allergens(query.jurisdiction, query.on)


@plain.get(
    "/v1/choking-rules",
    response_model=replies.ChokingRuleList,
    responses=_problems(401, 422),
    summary="Choking rules",
    operation_id="list-choking-rules",
    tags=["reference"],
)
def get_choking_rules(_query: NoQuery) -> dict[str, Any]:
    """Foods whose pieces are a choking concern, by age, and the forms guidance gives instead."""
    return list_choking_rules()


@plain.get("/v1/health", response_model=replies.Health, summary="Health", operation_id="health", tags=["service"])
def get_health() -> dict[str, Any]:
    """Whether the service can answer: the tables were read."""
    return {
        "status": "ok",
        "version": __version__,
        "lunch_foods": len(lunch_foods()),
        "generic_foods": len(generic_foods()),
        "standards": len(standard_ids()),
    }


def install_routes(app: FastAPI) -> None:
    """Put all addresses into the app, as routes of its own: a nested router would be matched twice a request."""
    app.router.routes.extend([*bodies.routes, *plain.routes])
