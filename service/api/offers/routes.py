"""Offer audits."""

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response

from service.api.answers import AS_JSON, BODY_FAULTS, V1, json_reply, problems
from service.api.bodies import JsonBody
from service.api.offers.replies import OfferAuditReply
from service.jobs.offers.requests import OfferAuditRequest, OfferAuditWithIds

router = APIRouter(prefix=V1, dependencies=AS_JSON)

AuditBody = JsonBody(OfferAuditRequest, OfferAuditWithIds)


@router.post(
    "/offer-audits",
    response_model=OfferAuditReply,
    responses=problems(*BODY_FAULTS, 404),
    summary="Audit an offer",
    operation_id="audit-offer",
    tags=["checks"],
)
async def post_offer_audit(request: Request, asked: Annotated[OfferAuditRequest, Depends(AuditBody)]) -> Response:
    """Count every lunch that an offer of choice groups allows, for each child.

    The answer has how many keep every rule, which targets fail and how often, each item's part, the best and worst
    lunches as full checks, and the smallest changes to the offer. An offer too large to count is refused with
    its size, or estimated on request. Closing the connection stops the work. Stores nothing.
    """
    from service.jobs.offers.audit_offer import audit_offer  # it loads numpy

    made = await request.app.state.workers.audits.run_watched(request, partial(audit_offer, asked))
    return made if isinstance(made, Response) else json_reply(made)
