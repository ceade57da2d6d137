"""The address that audits an offer; loaded with the first request for it."""

from functools import partial

from fastapi import APIRouter

from service.api.body_routes import Work, WorkerRoute
from service.api.routes import problems
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.requests import OfferAuditRequest

router = APIRouter(route_class=WorkerRoute)


@router.post(
    "/v1/offer-audits",
    response_model=None,
    responses=problems(400, 401, 413, 415, 422),
    summary="Audit an offer",
    operation_id="audit-offer",
    tags=["checks"],
)
def post_offer_audit(asked: OfferAuditRequest) -> Work:
    """Count every lunch that an offer of choice groups allows, for each child.

    Tells how many keep every rule, which targets fail and how often, each item's part, the best and worst
    lunches as full checks, and the smallest changes to the offer. An offer too large to count is refused with
    its size, or estimated on request. Closing the connection stops the work. Stores nothing.
    """
    return partial(audit_offer, asked)


ROUTES = router.routes
