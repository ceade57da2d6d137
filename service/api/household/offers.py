"""Offers that a household sets out again and again."""

from service.api.household.record_routes import Words, record_routes
from service.jobs.household.kinds import OFFERS

ROUTES = record_routes(
    OFFERS,
    Words(
        "/v1/offers", "offer_id", "offer", "offers", "KeptOffer",
        "Choice groups with their rules under a name; POST /v1/offer-audits accepts its id as offer.",
    ),
)  # fmt: skip
