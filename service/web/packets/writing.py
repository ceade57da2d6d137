"""Reading a packet in, and editing one: the food is chosen, the reading is shown, and what was shown is kept."""

from typing import Any
from urllib.parse import urlencode
from uuid import UUID, uuid4

from fastapi import APIRouter, Request, Response
from pydantic_core import to_json

from service.domain.errors import AlreadyThere, AnyFault, LunchError, NotThere
from service.domain.messages import Message
from service.jobs.household.access.households import today
from service.jobs.household.kinds import PACKETS
from service.jobs.household.once import Made
from service.jobs.household.packets.packet_foods import food_to_read as find_food_to_read
from service.jobs.household.packets.packet_foods import foods_to_read
from service.jobs.household.packets.packet_photos import put_photo
from service.jobs.household.packets.packet_reading import (
    allergens_looked_for,
    allergens_on_labels,
    label_laws,
    read_packet,
)
from service.jobs.household.records import Connection, Kept, Matches, keep_record, replace_record
from service.jobs.household.requests import KeptPacket
from service.reference.foods.pictures import picture_of
from service.web.forms.conflicts import Conflict, conflict_between
from service.web.forms.form import Form, SentForm
from service.web.packets.filled import filled_form, filled_of, notes_of, see_compared
from service.web.packets.look_up import look_up_for
from service.web.packets.photo import photo_sent
from service.web.packets.typed import FIELDS, as_typed, mark_of, new_form, packet_typed, wrong
from service.web.packets.view import (
    USUAL_HOLDS,
    FormView,
    ReadingView,
    choose_view,
    figures_of,
    other_units,
    reading_view,
    said,
    ticks_of,
)
from service.web.pages import go, page
from service.web.records import edit_once, once, one_of
from service.web.refusals import ChangedMeanwhile
from service.web.viewer import Parent, Viewer

router = APIRouter(include_in_schema=False)

LONGEST_QUERY = 100
NEW = "/packets/new"


@router.get(NEW)
def new(request: Request, viewer: Parent, food: str = "", find: str = "", like: str = "", gtin: str = "") -> Response:
    """The form of a packet of a food; without a food, the search for one. ``like``: a packet whose text is taken over.

    ``gtin``: the code of a product, with whose entry in a public database the form is filled in.
    """
    caller = viewer.who()
    if like:
        typed = as_typed({**one_of(caller, PACKETS, like), "allergens": [], "claims": []})
        form = Form({**typed, "read_on": [today().isoformat()]})
        return _form_page(request, viewer, form, NEW, compare=True, status=200)
    query = find.strip()[:LONGEST_QUERY]
    with caller.store.reading() as connection:
        if not food:
            query, found = _foods_of(connection, caller.household, query, gtin)
            return page(request, viewer, "packets/choose.html", choose_view(found, query, gtin=gtin))
        row, dish = find_food_to_read(connection, caller.household, food)
    if row is None:
        found = {"foods": [], "dishes": [] if dish is None else [dish]}
        view = choose_view(found, "", unknown=dish is None)
        return page(request, viewer, "packets/choose.html", view, 404 if dish is None else 200)
    if gtin:
        return _filled(request, viewer, food, gtin)
    return _form_page(request, viewer, new_form(food, today()), NEW, status=200)


def _foods_of(connection: Connection, household: UUID, query: str, gtin: str) -> tuple[str, dict[str, Any]]:
    """The foods that words find, with the words; for a product, whose name is long, some word of it will do, the last first."""
    tried = [query, *reversed(query.split())] if gtin else [query]
    for words in tried:
        found = foods_to_read(connection, household, words)
        if found["foods"] or found["dishes"]:
            return words, found
    return query, found


def _filled(request: Request, viewer: Viewer, food: str, gtin: str) -> Response:
    """The form filled in from the entry of a code; as it is typed by hand where that has none by now."""
    try:
        items = look_up_for(request, viewer, gtin[:LONGEST_QUERY])["items"]
    except AnyFault:
        items = []
    if not items:
        return go(f"/packets/look-up?{urlencode({'q': gtin})}")
    form = filled_form(food, today(), items[0])
    return _form_page(request, viewer, form, NEW, notes=notes_of(items[0]), status=200)


@router.post(NEW)
def keep_new(request: Request, viewer: Parent, form: SentForm) -> Response:
    """Show what a packet means, or keep what was shown, once however often it is sent."""
    caller, packet = viewer.who(), packet_typed(form, viewer.language)
    if packet is None or not _is_to_be_kept(form, packet):
        return _form_page(request, viewer, form, NEW, packet)
    image = photo_sent(form)
    if not see_compared(form, viewer.language) or form.faults:
        return _form_page(request, viewer, form, NEW, packet)

    def create(connection: Connection) -> Made:
        kept = keep_record(connection, PACKETS, caller.household, packet, None).record
        if image is not None:
            put_photo(connection, caller.household, str(kept.id), image)
        return Made(201, {"id": str(kept.id)}, {})

    try:
        made = once(caller, form.text("repeat"), f"packet {to_json(packet).decode()}", create)
    except AlreadyThere as there:
        wrong(form, "read_on", viewer.language, "packets.same-day")
        return _form_page(request, viewer, form, NEW, packet, same_day=there.existing_id or "")
    except LunchError as found:
        return _form_page(request, viewer, form.with_faults(found, FIELDS), NEW, packet)
    return go(f"/packets/{made.body['id']}")


@router.get("/packets/{packet_id}/edit")
def edit(request: Request, viewer: Parent, packet_id: str) -> Response:
    """The form with what is kept of a packet."""
    body = one_of(viewer.who(), PACKETS, packet_id)
    form = Form({**as_typed(body), "version": [str(body["version"])]})
    return _form_page(request, viewer, form, _edit(packet_id), status=200)


@router.post("/packets/{packet_id}/edit")
def keep_again(request: Request, viewer: Parent, packet_id: str, form: SentForm) -> Response:
    """Show what an edited packet means, or keep what was shown; what another device changed meanwhile is shown beside it."""
    caller, packet = viewer.who(), packet_typed(form, viewer.language)
    if packet is None or not _is_to_be_kept(form, packet):
        return _form_page(request, viewer, form, _edit(packet_id), packet)
    image = photo_sent(form)
    if form.faults:
        return _form_page(request, viewer, form, _edit(packet_id), packet)

    def edit(connection: Connection, matches: Matches) -> Kept:
        kept = replace_record(connection, PACKETS, caller.household, packet_id, matches, packet, None)
        if image is not None:
            put_photo(connection, caller.household, packet_id, image)
        return kept

    try:
        edit_once(caller, PACKETS, packet_id, form.text("version"), edit)
    except ChangedMeanwhile as changed:
        mine, theirs = said(as_typed(_kept(packet)), viewer.language), said(as_typed(changed.theirs), viewer.language)
        found = conflict_between(mine, theirs, changed.theirs["version"], f"/packets/{packet_id}")
        return _form_page(request, viewer, form, _edit(packet_id), packet, conflict=found, status=409)
    except NotThere as gone:
        if gone.pointer != "/id":
            return _form_page(request, viewer, form.with_faults(gone, FIELDS), _edit(packet_id), packet)
        return _form_page(request, viewer, form, NEW, packet, removed=True, status=409)
    except AlreadyThere as there:
        wrong(form, "read_on", viewer.language, "packets.same-day")
        return _form_page(request, viewer, form, _edit(packet_id), packet, same_day=there.existing_id or "")
    except LunchError as found:
        return _form_page(request, viewer, form.with_faults(found, FIELDS), _edit(packet_id), packet)
    return go(f"/packets/{packet_id}")


def _is_to_be_kept(form: Form, packet: KeptPacket) -> bool:
    """Whether the button says so, and the reading that was shown is that of what is sent."""
    return form.text("do") == "keep" and form.text("mark") == mark_of(packet)


def _edit(packet_id: str) -> str:
    return f"/packets/{packet_id}/edit"


def _form_page(
    request: Request,
    viewer: Viewer,
    form: Form,
    action: str,
    packet: KeptPacket | None = None,
    *,
    conflict: Conflict | None = None,
    same_day: str = "",
    removed: bool = False,
    compare: bool = False,
    notes: list[Message] | None = None,
    status: int = 0,
) -> Response:
    """The form, with the reading of the packet where one was typed."""
    caller, reading = viewer.who(), None
    with caller.store.reading() as connection:
        if packet is not None:
            reading = _reading(connection, viewer, form, packet)
        row, _dish = find_food_to_read(connection, caller.household, form.text("food"))
        first, others = allergens_looked_for(connection, caller.household), allergens_on_labels(today())
    name = form.text("food") if row is None else row["name"]
    ticks, more = ticks_of(form, first, others)
    figures = figures_of(form)
    holds = dict.fromkeys([*USUAL_HOLDS, form.text("holds")])
    mark = "" if packet is None or reading is None else mark_of(packet)
    view = FormView(
        form=form,
        title="packets.new-title" if action == NEW else "packets.edit-title",
        action=action,
        back="/packets" if action == NEW else action.removesuffix("/edit"),
        food_name=name,
        picture=picture_of(name, None if row is None else row["category"]),
        holds=[one for one in holds if one],
        laws=label_laws(),
        ticks=ticks,
        more_ticks=more,
        figures=figures,
        other_units=other_units(),
        figures_open=any(form.text(one.field) or form.fault_of(one.field) for one in figures),
        version=form.text("version") if conflict is None else conflict.version,
        repeat=form.text("repeat") or uuid4().hex,
        mark=mark,
        reading=reading,
        conflict=conflict,
        same_day=same_day,
        changed_since=form.text("do") == "keep" and form.text("mark") != mark and reading is not None,
        removed=removed,
        compare=compare,
        filled=filled_of(form, notes),
    )
    return page(request, viewer, "packets/form.html", view, status or (422 if form.faults else 200))


def _reading(connection: Connection, viewer: Viewer, form: Form, packet: KeptPacket) -> ReadingView | None:
    """What the packet means; None where it names what is not known, which the form says."""
    try:
        return reading_view(read_packet(connection, viewer.who().household, packet))
    except LunchError as found:
        if not form.faults:
            form.with_faults(found, FIELDS)
        return None


def _kept(packet: KeptPacket) -> dict[str, Any]:
    return packet.model_dump(mode="json")
