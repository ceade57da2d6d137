"""The routers of the API, one a subject, in the order in which the documentation shows them."""

from service.api.allergens.routes import router as allergens
from service.api.foods.branded_routes import router as branded_foods
from service.api.foods.routes import router as foods
from service.api.household.routes import routers as household
from service.api.lunch.routes import router as lunch
from service.api.offers.routes import router as offers
from service.api.plan.kitchen_routes import router as kitchen
from service.api.plan.plan_routes import router as plans
from service.api.plan.routes import router as plan
from service.api.problem_pages import router as problem_pages
from service.api.recipes.routes import router as recipes
from service.api.service_health import router as service_health
from service.api.tables.routes import router as tables
from service.api.weeks.routes import router as weeks

ROUTERS = (
    lunch,
    allergens,
    offers,
    weeks,
    tables,
    plan,
    plans,
    kitchen,
    foods,
    branded_foods,
    recipes,
    *household,
    service_health,
    problem_pages,
)

ROUTES = [route for router in ROUTERS for route in router.routes]
"""What each application answers. The routes are taken as they are, not by ``include_router``: FastAPI makes each route of an
included router ready a second time when it is first asked for, and looks for the route twice in every request."""
