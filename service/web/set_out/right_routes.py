"""An offer made right for everyone: what would change is shown, and stored on one tap."""

from fastapi import APIRouter, Request, Response

from service.domain.errors import LunchError
from service.jobs.household.access.households import today
from service.jobs.household.kinds import OFFERS
from service.jobs.household.offers.right_for_all import design_for_all, to_design
from service.jobs.household.records import show_record
from service.reference.fault_words import fault_sentences
from service.web.heavy import heavy
from service.web.pages import page
from service.web.set_out.kept_cold import kept_now, kept_said
from service.web.set_out.right_view import RightView, right_view
from service.web.viewer import Parent

router = APIRouter(include_in_schema=False)


@router.get("/set-out/{offer}/right")
@heavy
def show_right(request: Request, viewer: Parent, offer: str, more: bool = False) -> Response:
    """Look for foods and amounts with which every lunch is right; ``more``: with more everyday foods of the same kinds."""
    caller = viewer.who()
    with caller.store.reading() as connection:
        record = show_record(connection, OFFERS, caller.household, offer)
        known = (str(record.id), record.body["name"], record.version, more)
        try:
            made = to_design(connection, caller.household, record, today(), more=more)
            if made is None:
                return page(request, viewer, "set_out/right.html", RightView(*known, nobody=True))
            rules = bool(made.offer.rules or made.offer.alternatives)
            found = design_for_all(made)
        except LunchError as fault:
            problem = fault_sentences(fault)
            return page(request, viewer, "set_out/right.html", RightView(*known, problem=problem))
    kept = kept_said(kept_now(caller)) is not None
    view = right_view(*known[:3], found, viewer.language, more=more, rules=rules, kept=kept)
    return page(request, viewer, "set_out/right.html", view)
