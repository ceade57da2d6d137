"""Prices that a household pays."""

from service.api.household.record_routes import Words, record_routes
from service.jobs.household.kinds import PRICES

ROUTES = record_routes(
    PRICES,
    Words(
        "/v1/prices", "price_id", "price", "prices", "KeptPrice",
        "What a pack of a food or the school's meal costs from a day on, until a later price of the same.",
    ),
)  # fmt: skip
