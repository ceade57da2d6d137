"""The addresses of the API; each hands over to one job.

The models of the replies are named in ``openapi.py``, not here, and jobs that a first lunch check does not
need are loaded with the first request for them: both keep starting fast.
"""

from importlib import import_module
from typing import Any

from starlette.applications import Starlette
from starlette.routing import BaseRoute, Route
from starlette.types import ASGIApp, Receive, Scope, Send

from service.api.json_route import JsonAnswer
from service.api.problems import MEDIA_TYPE, BadParameters
from service.jobs.check_lunch import check_lunch
from service.jobs.requests import LunchCheckRequest

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


async def answer_lunch_check(asked: LunchCheckRequest) -> dict[str, Any]:
    """Check one lunch; documented in ``reference_routes``."""
    return check_lunch(asked)


LATER = {
    "/v1/allergen-screenings": ("service.api.reference_routes", "POST"),
    "/v1/offer-audits": ("service.api.offer_routes", "POST"),
    "/v1/lunch-check-batches": ("service.api.batches", "POST"),
    "/v1/foods": ("service.api.reference_routes", "GET"),
    "/v1/foods/{food_id}": ("service.api.reference_routes", "GET"),
    "/v1/standards": ("service.api.reference_routes", "GET"),
    "/v1/standards/{standard_id}": ("service.api.reference_routes", "GET"),
    "/v1/allergens": ("service.api.reference_routes", "GET"),
    "/v1/choking-rules": ("service.api.reference_routes", "GET"),
    "/v1/health": ("service.api.reference_routes", "GET"),
}
"""Addresses whose routes, models and jobs are loaded with the first request for them."""


def documented_routes() -> list[BaseRoute]:
    """The routes as FastAPI knows them, for the OpenAPI document."""
    modules = dict.fromkeys(module for module, _method in LATER.values())
    return [route for module in modules for route in import_module(module).ROUTES]


class LoadedLater:
    """Serves a route whose module is loaded with its first request."""

    def __init__(self, path: str, module: str) -> None:
        self.path = path
        self.module = module
        self.app: ASGIApp | None = None

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Load the route if need be, and let it answer."""
        from fastapi.exceptions import RequestValidationError
        from fastapi.middleware.asyncexitstack import AsyncExitStackMiddleware

        if self.app is None:
            route = next(one for one in import_module(self.module).ROUTES if one.path == self.path)
            self.app = AsyncExitStackMiddleware(route.app)
        try:
            await self.app(scope, receive, send)
        except RequestValidationError as fault:
            raise BadParameters(fault.errors()) from fault


def install_routes(app: Starlette) -> None:
    """Put all addresses into the app.

    The lunch check is served as a plain route: what FastAPI puts around a route (dependencies, exit stacks) is
    of no use to it and costs a tenth of a check, and loading FastAPI costs more than half of the start.
    """
    app.router.routes.append(
        Route("/v1/lunch-checks", JsonAnswer(LunchCheckRequest, answer_lunch_check), methods=["POST"])
    )
    for path, (module, method) in LATER.items():
        app.router.routes.append(Route(path, LoadedLater(path, module), methods=[method]))
