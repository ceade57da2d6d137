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
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests import LunchCheckRequest

Problems = dict[int | str, dict[str, Any]]


def problems(*statuses: int) -> Problems:
    words = {
        400: "The body is no JSON.",
        401: "An access key is needed.",
        403: "The access key does not give that right.",
        404: "There is no such thing.",
        409: "It does not go together with what is kept.",
        412: "It was edited since it was read.",
        413: "The body is too large.",
        415: "The body is of another media type.",
        422: "Something in the request is wrong; every fault is told with its place, value and remedy.",
        428: "If-Match is missing.",
        429: "Too many unknown access keys came from this address.",
        503: "The household store does not answer.",
    }
    content = {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
    return {status: {"description": words[status], "content": content} for status in statuses}


async def answer_lunch_check(asked: LunchCheckRequest) -> dict[str, Any]:
    """Check one lunch; documented in ``reference_routes``."""
    return check_lunch(asked)


HOUSEHOLD = "service.api.household."
REFERENCE = "service.api.reference_routes"


def _kept(path: str, id_name: str, module: str) -> dict[str, dict[str, str]]:
    """The two addresses of a kind of record."""
    return {
        path: {"GET": HOUSEHOLD + module, "POST": HOUSEHOLD + module},
        f"{path}/{{{id_name}}}": dict.fromkeys(("GET", "PUT", "PATCH", "DELETE"), HOUSEHOLD + module),
    }


LATER: dict[str, dict[str, str]] = {
    "/v1/allergen-screenings": {"POST": REFERENCE},
    "/v1/offer-audits": {"POST": "service.api.offer_routes"},
    "/v1/lunch-check-batches": {"POST": "service.api.batches"},
    "/v1/weekly-summaries": {"POST": "service.api.week_routes"},
    "/v1/foods": {"GET": REFERENCE, "POST": HOUSEHOLD + "foods"},
    "/v1/foods/{food_id}": {
        "GET": REFERENCE,
        "PUT": HOUSEHOLD + "foods",
        "PATCH": HOUSEHOLD + "foods",
        "DELETE": HOUSEHOLD + "foods",
    },
    "/v1/standards": {"GET": REFERENCE},
    "/v1/standards/{standard_id}": {"GET": REFERENCE},
    "/v1/allergens": {"GET": REFERENCE},
    "/v1/choking-rules": {"GET": REFERENCE},
    "/v1/health": {"GET": REFERENCE},
    **_kept("/v1/children", "child_id", "children"),
    "/v1/children/{child_id}/weeks/{week}": {"GET": HOUSEHOLD + "weeks"},
    **_kept("/v1/recipes", "recipe_id", "recipes"),
    **_kept("/v1/prices", "price_id", "prices"),
    **_kept("/v1/offers", "offer_id", "offers"),
    **_kept("/v1/lunches", "lunch_id", "lunches"),
    "/v1/keys": {"GET": HOUSEHOLD + "keys", "POST": HOUSEHOLD + "keys"},
    "/v1/keys/{key_id}": {"DELETE": HOUSEHOLD + "keys"},
    "/v1/export": {"GET": HOUSEHOLD + "export"},
}
"""Addresses whose routes, models and jobs are loaded with the first request for them: method -> module."""

WRITTEN_OUT = {
    "/v1/lunch-checks": "written_out_check",
    "/v1/allergen-screenings": "written_out_screening",
    "/v1/offer-audits": "written_out_audit",
}
"""Addresses whose bodies may name what a household keeps by its id, with what writes it out (``jobs/stored_ids.py``)."""


def documented_routes() -> list[BaseRoute]:
    """The routes as FastAPI knows them, for the OpenAPI document."""
    modules = dict.fromkeys(module for methods in LATER.values() for module in methods.values())
    return [route for module in modules for route in import_module(module).ROUTES]


class LoadedLater:
    """Serves an address whose routes are loaded, each with the first request for it; ``modules``: by method."""

    def __init__(self, path: str, modules: dict[str, str]) -> None:
        self.path = path
        self.modules = modules
        self.apps: dict[str, ASGIApp] = {}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Load the route if need be, and let it answer."""
        from fastapi.exceptions import RequestValidationError

        method = scope["method"]
        if method not in self.apps:
            self.apps[method] = self._load(method)
        try:
            await self.apps[method](scope, receive, send)
        except RequestValidationError as fault:
            raise BadParameters(fault.errors()) from fault

    def _load(self, method: str) -> ASGIApp:
        from fastapi.middleware.asyncexitstack import AsyncExitStackMiddleware

        routes = import_module(self.modules[method]).ROUTES
        route = next(one for one in routes if one.path == self.path and method in one.methods)
        return AsyncExitStackMiddleware(route.app)


def install_routes(app: Starlette) -> None:
    """Put all addresses into the app.

    The lunch check is served as a plain route: what FastAPI puts around a route (dependencies, exit stacks) is
    of no use to it and costs a tenth of a check, and loading FastAPI costs more than half of the start.
    """
    app.router.routes.append(
        Route(
            "/v1/lunch-checks",
            JsonAnswer(LunchCheckRequest, answer_lunch_check, WRITTEN_OUT["/v1/lunch-checks"]),
            methods=["POST"],
        )
    )
    for path, modules in LATER.items():
        app.router.routes.append(Route(path, LoadedLater(path, modules), methods=list(modules)))
