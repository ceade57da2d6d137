"""The photograph of a packet: shown, put to it, removed."""

from fastapi import APIRouter, Request, Response

from service.domain.errors import BadInput
from service.jobs.household.packets.packet_photos import put_photo, show_photo, take_photo_away
from service.jobs.household.packets.photographs import as_kept
from service.web.forms.form import Form, SentForm
from service.web.packets.shown import view_of
from service.web.packets.typed import FIELDS, wrong
from service.web.pages import go, page
from service.web.viewer import Packer, Parent

router = APIRouter(include_in_schema=False)

SHOWN_FOR = "private, max-age=3600"
"""An hour, in this device's own cache; the address of another photograph is another one."""


@router.get("/packets/{packet}/photo")
def photo(viewer: Packer, packet: str) -> Response:
    """The photograph as it is kept."""
    caller = viewer.who()
    with caller.store.reading() as connection:
        kept = show_photo(connection, caller.household, packet)
    headers = {"Cache-Control": SHOWN_FOR, "Content-Security-Policy": "default-src 'none'; sandbox"}
    return Response(kept.image, headers=headers, media_type=kept.media_type)


@router.post("/packets/{packet}/photo")
def put(request: Request, viewer: Parent, packet: str, form: SentForm) -> Response:
    """Keep the photograph that was sent, in the place of the one there was."""
    caller, image = viewer.who(), photo_sent(form)
    if image is None:
        if not form.faults:
            wrong(form, "photo", viewer.language, "packets.photo-none")
        return page(request, viewer, "packets/packet.html", view_of(viewer, packet, form), 422)
    with caller.store.writing() as connection:
        put_photo(connection, caller.household, packet, image)
    return go(f"/packets/{packet}")


@router.post("/packets/{packet}/photo/remove")
def remove(viewer: Parent, packet: str, _form: SentForm) -> Response:
    """Remove the photograph; the packet stays."""
    caller = viewer.who()
    with caller.store.writing() as connection:
        take_photo_away(connection, caller.household, packet)
    return go(f"/packets/{packet}")


def photo_sent(form: Form) -> bytes | None:
    """The photograph of a form as it is to be kept; None where none was chosen, or it cannot be kept, which the form says."""
    chosen = form.files.get("photo")
    sent = b"" if chosen is None else chosen.file.read()
    if chosen is None or not (sent or chosen.filename):
        return None
    try:
        return as_kept(sent)
    except BadInput as found:
        form.with_faults(found, FIELDS)
        return None
