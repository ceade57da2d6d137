"""How much is enough, offers that cannot go wrong, and plans."""

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response

from service.api.answers import AS_JSON, BODY_FAULTS, V1, json_reply, problems
from service.api.bodies import JsonBody
from service.api.plan.replies import OfferDesignReply, PortionNeedsReply
from service.jobs.plan.requests import OfferDesignRequest, OfferDesignWithIds, PortionNeedsRequest, PortionNeedsWithIds

router = APIRouter(prefix=V1, dependencies=AS_JSON)

OfferDesignBody = JsonBody(OfferDesignRequest, OfferDesignWithIds)
PortionNeedsBody = JsonBody(PortionNeedsRequest, PortionNeedsWithIds)


@router.post(
    "/portion-needs",
    response_model=PortionNeedsReply,
    responses=problems(*BODY_FAULTS, 404),
    summary="Work out how many portions are enough",
    operation_id="work-out-portion-needs",
    tags=["plans"],
)
async def post_portion_needs(
    request: Request, asked: Annotated[PortionNeedsRequest, Depends(PortionNeedsBody)]
) -> Response:
    """Work out how many portions of each item of an offer are enough for some school days.

    Two numbers: one that is always enough, so that each child finds something it may take whatever the others took before;
    and one that is enough in 95 of 100 cases when everybody chooses freely, with a household's key by what each stored child
    took before. The cheapest portions where every item has a
    price, otherwise the fewest. Closing the connection stops the work. Stores nothing.
    """
    from service.jobs.plan.portion_needs import portion_needs  # it loads numpy and the solver

    made = await request.app.state.workers.audits.run_watched(request, partial(portion_needs, asked))
    return made if isinstance(made, Response) else json_reply(made)


@router.post(
    "/offer-designs",
    response_model=OfferDesignReply,
    responses=problems(*BODY_FAULTS, 404),
    summary="Design an offer",
    operation_id="design-offer",
    tags=["plans"],
)
async def post_offer_design(
    request: Request, asked: Annotated[OfferDesignRequest, Depends(OfferDesignBody)]
) -> Response:
    """Find an offer from which no child can take a lunch that is not right.

    Of the foods that may be set out, and the amounts in which each child may get them, it chooses those with which every
    lunch keeps every rule, and proves it by the count of an audit. Where that is not possible, it says which rule stands in
    the way for whom, what each group adds to it at best, and which food would help. Closing the connection stops the work.
    Stores nothing.
    """
    from service.jobs.plan.designs.design_offer import design_offer  # it loads numpy and the solver

    made = await request.app.state.workers.audits.run_watched(request, partial(design_offer, asked))
    return made if isinstance(made, Response) else json_reply(made)
