"""The addresses of the API; each hands over to one job.

The models of the replies are named in ``openapi.py``, not here, and jobs that a first lunch check does not
need are loaded with the first request for them: both keep starting fast.
"""

from collections.abc import Awaitable, Callable
from functools import lru_cache
from importlib import import_module
from typing import Annotated, Any

import orjson
from fastapi import APIRouter, FastAPI, Query, Request, Response
from pydantic import BaseModel, ConfigDict, Field
from starlette.routing import BaseRoute, Route

from service import __version__
from service.api.json_route import JSON, JsonBodyRoute
from service.api.problems import MEDIA_TYPE
from service.jobs.check_lunch import check_lunch
from service.jobs.requests import Day, LunchCheckRequest, ScreeningRequest

Problems = dict[int | str, dict[str, Any]]


def problems(*statuses: int) -> Problems:
    words = {
        400: "The body is no JSON.",
        401: "An access key is needed.",
        404: "There is no such thing.",
        413: "The body is too large.",
        415: "The body is not application/json.",
        422: "Something in the request is wrong; every fault is told with its place, value and remedy.",
    }
    content = {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
    return {status: {"description": words[status], "content": content} for status in statuses}


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


bodies = APIRouter(route_class=JsonBodyRoute)
plain = APIRouter()


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
    return check_lunch(asked)


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
    from service.jobs.screen_family import screen_family

    return screen_family(asked)


@plain.get(
    "/v1/foods",
    response_model=None,
    responses=problems(401, 422),
    summary="Search foods",
    operation_id="search-foods",
    tags=["reference"],
)
def get_foods(query: Annotated[FoodQuery, Query()]) -> Response:
    """Find foods by the beginnings of words, forgiving a misspelling; lunch foods come first."""
    from service.jobs.search_foods import search_foods

    return answer(search_foods(query.q, query.limit, query.cursor))


@plain.get(
    "/v1/foods/{food_id}",
    response_model=None,
    responses=problems(401, 404, 422),
    summary="One food",
    operation_id="show-food",
    tags=["reference"],
)
def get_food(food_id: str, _query: NoQuery) -> Response:
    """Everything known of one food: figures, portions, credits, allergens, forms, and their sources."""
    from service.jobs.search_foods import show_food

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
    from service.jobs.list_standards import list_standards

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
    from service.jobs.list_standards import show_standard

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
    from service.jobs.list_allergens import list_allergens

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
    from service.jobs.list_allergens import list_choking_rules

    return answer(list_choking_rules())


@plain.get("/v1/health", response_model=None, summary="Health", operation_id="health", tags=["service"])
def get_health() -> Response:
    """Whether the service can answer: the tables were read."""
    from service.reference.generic_foods import generic_foods
    from service.reference.lunch_foods import lunch_foods
    from service.reference.standards import standard_ids

    return answer(
        {
            "status": "ok",
            "version": __version__,
            "lunch_foods": len(lunch_foods()),
            "generic_foods": len(generic_foods()),
            "standards": len(standard_ids()),
        }
    )


LATER = {"/v1/offer-audits": "service.api.offer_routes"}
"""Addresses whose routes, models and jobs are loaded with the first request for them."""


def documented_routes() -> list[BaseRoute]:
    """The routes as FastAPI knows them, for the OpenAPI document."""
    later = [route for module in sorted(set(LATER.values())) for route in import_module(module).router.routes]
    return [*bodies.routes, *later, *plain.routes]


def loaded_later(path: str, module: str) -> Callable[[Request], Awaitable[Response]]:
    """A handler that loads the route's module with its first request."""

    async def handle(request: Request) -> Response:
        return await handler()(request)

    @lru_cache(maxsize=1)
    def handler() -> Callable[[Request], Awaitable[Response]]:
        route = next(one for one in import_module(module).router.routes if one.path == path)
        made: Callable[[Request], Awaitable[Response]] = route.get_route_handler()
        return made

    return handle


def install_routes(app: FastAPI) -> None:
    """Put all addresses into the app.

    Routes that read a JSON body are served as plain routes of the same app: what FastAPI puts around a
    route (dependencies, exit stacks) is of no use to them and costs a tenth of a check.
    """
    for route in bodies.routes:
        if isinstance(route, JsonBodyRoute):
            app.router.routes.append(Route(route.path, route.get_route_handler(), methods=["POST"], name=route.name))
    for path, module in LATER.items():
        app.router.routes.append(Route(path, loaded_later(path, module), methods=["POST"]))
    app.router.routes.extend(plain.routes)
