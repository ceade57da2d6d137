"""What is printed of what is set out, and two offers side by side: pages that change nothing."""

from fastapi import APIRouter, Request, Response

from service.jobs.household.access.households import today
from service.jobs.household.kinds import OFFERS
from service.jobs.household.offers.fridge import fridge_week
from service.jobs.household.offers.set_out import audit_for_family, offer_shown
from service.jobs.household.records import show_record
from service.jobs.requests.fields import Day
from service.web.heavy import heavy
from service.web.pages import page
from service.web.set_out.compare_view import compare_view
from service.web.set_out.print_view import cards_view, fridge_view
from service.web.viewer import Packer

router = APIRouter(include_in_schema=False)


@router.get("/set-out/fridge")
def show_fridge(request: Request, viewer: Packer, week: Day | None = None) -> Response:
    """One sheet for the fridge: the school week of a day, all children."""
    caller = viewer.who()
    with caller.store.reading() as connection:
        found = fridge_week(connection, caller.household, week or today())
    return page(request, viewer, "set_out/fridge.html", fridge_view(found, viewer.language))


@router.get("/set-out/compare")
@heavy
def compare(request: Request, viewer: Packer, one: str, other: str) -> Response:
    """Two offers side by side."""
    caller, on = viewer.who(), today()
    with caller.store.reading() as connection:
        shown = [
            offer_shown(connection, caller.household, show_record(connection, OFFERS, caller.household, offer))
            for offer in (one, other)
        ]
        audits = [audit_for_family(connection, caller.household, offer["id"], on, max_changes=0) for offer in shown]
    view = compare_view(shown[0], shown[1], (audits[0], audits[1]), viewer.language)
    return page(request, viewer, "set_out/compare.html", view)


@router.get("/set-out/{offer}/cards")
@heavy
def show_cards(request: Request, viewer: Packer, offer: str, day: Day | None = None) -> Response:
    """A card for each child, four to a page."""
    caller, on = viewer.who(), day or today()
    with caller.store.reading() as connection:
        record = show_record(connection, OFFERS, caller.household, offer)
        audit = audit_for_family(connection, caller.household, str(record.id), on, max_changes=0)
    view = cards_view(str(record.id), record.body["name"], on, audit)
    return page(request, viewer, "set_out/cards.html", view)
