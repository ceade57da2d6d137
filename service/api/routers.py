"""The routers of the API, one a subject, in the order in which the documentation shows them."""

from collections.abc import Iterable

from fastapi import APIRouter
from starlette.routing import BaseRoute

from service.api.allergens.routes import router as allergens
from service.api.foods.routes import router as foods
from service.api.household.routes import routers as household
from service.api.lunch.routes import router as lunch
from service.api.offers.routes import router as offers
from service.api.plan.kitchen_routes import router as kitchen
from service.api.plan.plan_routes import router as plans
from service.api.plan.routes import router as plan
from service.api.problem_pages import router as problem_pages
from service.api.service_health import router as service_health
from service.api.tables.routes import router as tables
from service.api.weeks.routes import router as weeks

ROUTERS = (
    *(
        (router, "/v1")
        for router in (lunch, allergens, offers, weeks, tables, plan, plans, kitchen, foods, *household, service_health)
    ),
    (problem_pages, "/problems"),
)
"""Each with the beginning of its addresses."""


def taken_in(routers: Iterable[tuple[APIRouter, str]]) -> list[BaseRoute]:
    """The routes of routers, each with the beginning of its addresses."""
    whole = APIRouter()
    for router, prefix in routers:
        whole.include_router(router, prefix=prefix)
    return whole.routes


ROUTES = taken_in(ROUTERS)
"""What each application answers. Taken in once: FastAPI makes ready each route that it takes in, all of them for half a second."""
