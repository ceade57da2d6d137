"""The packets that were read: the list, one packet, and its removal."""

from typing import Any

from fastapi import APIRouter, Request, Response

from service.domain.errors import LunchError
from service.jobs.household.access.households import today
from service.jobs.household.kinds import PACKETS
from service.jobs.household.packets.packets_kept import packets_kept
from service.jobs.household.packets.packets_to_read import Asked, packets_to_read
from service.web.forms.form import Form, SentForm
from service.web.packets.shown import may_write, view_of
from service.web.packets.typed import wrong
from service.web.packets.view import packets_view
from service.web.pages import go, page
from service.web.records import take_away
from service.web.refusals import ChangedMeanwhile
from service.web.viewer import Packer, Parent

router = APIRouter(include_in_schema=False)

LONGEST_QUERY = 100


@router.get("/packets")
def show_packets(request: Request, viewer: Packer, q: str = "") -> Response:
    """All packets or those searched for, with what to read first and what to read again."""
    caller, query, too_many = viewer.who(), q.strip()[:LONGEST_QUERY], ""
    to_read: list[dict[str, Any]] = []
    with caller.store.reading() as connection:
        kept = packets_kept(connection, caller.household, today(), query)
        if not query:
            try:
                to_read = packets_to_read(connection, caller.household, Asked(), today())["to_read"]
            except LunchError as fault:
                too_many = Form().with_faults(fault).faults[0].sentence
    view = packets_view(kept, to_read, query, too_many=too_many, may_write=may_write(viewer))
    return page(request, viewer, "packets/packets.html", view)


@router.get("/packets/{packet}")
def show_packet(request: Request, viewer: Packer, packet: str) -> Response:
    """One packet: what stands on it, and what that means."""
    return page(request, viewer, "packets/packet.html", view_of(viewer, packet, Form()))


@router.get("/packets/{packet}/remove")
def ask_to_remove(request: Request, viewer: Parent, packet: str) -> Response:
    """Ask once more before a packet is removed."""
    return page(request, viewer, "packets/remove.html", view_of(viewer, packet, Form()))


@router.post("/packets/{packet}/remove")
def remove(request: Request, viewer: Parent, packet: str, form: SentForm) -> Response:
    """Remove a packet with its photograph; where it was changed meanwhile, it is shown and asked again."""
    try:
        take_away(viewer.who(), PACKETS, packet, form.text("version"))
    except ChangedMeanwhile:
        wrong(form, "", viewer.language, "packets.remove-changed")
        return page(request, viewer, "packets/remove.html", view_of(viewer, packet, form), 409)
    return go("/packets")
