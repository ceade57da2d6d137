"""Own foods of a household: kept, edited, taken out. They are searched and shown beside the reference foods."""

from service.api.household.record_routes import Words, record_routes
from service.jobs.household.kinds import FOODS

ROUTES = record_routes(
    FOODS,
    Words(
        "/v1/foods", "food_id", "food", "foods", "KeptFood",
        "An own food, as its label gives it; its id is accepted wherever a food's is.",
    ),
    reading=False,
)  # fmt: skip
