"""What is set out: the household's offers and their days; one offer with what follows from it; every change a small form."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from fastapi import APIRouter, Query, Request, Response
from pydantic import ValidationError
from pydantic_core import to_json
from starlette.exceptions import HTTPException

from service.domain.errors import LunchError
from service.jobs.household.access.households import today
from service.jobs.household.changes import household_mark
from service.jobs.household.foods.search import search_household_foods
from service.jobs.household.foods.usual_foods import foods_like
from service.jobs.household.kinds import CHILDREN, OFFERS
from service.jobs.household.offers.set_out import (
    audit_for_family,
    edited_offer,
    free_name,
    offer_shown,
    offers_by_day,
    set_out_on,
    weeks_of,
)
from service.jobs.household.records import (
    Connection,
    Kept,
    Matches,
    Record,
    keep_record,
    read_asked,
    replace_record,
    show_record,
)
from service.jobs.household.requests import KeptOffer
from service.jobs.household.stock.portions_left import too_few_portions
from service.reference.fault_words import fault_sentences
from service.web.forms.conflicts import Again, Conflict, Difference
from service.web.forms.form import Form, SentForm
from service.web.heavy import heavy
from service.web.language.chosen import text
from service.web.language.words import said
from service.web.pages import go, page
from service.web.records import all_of, edit_once, make_once, one_of, take_away
from service.web.refusals import ChangedMeanwhile
from service.web.set_out.follows_view import FollowsView, follows_view, nothing_follows
from service.web.set_out.forms import READ, Wanted, at_its_form, name_taken, wanted
from service.web.set_out.kept_cold import FIELDS, keep_holding, kept_form, kept_now, kept_said
from service.web.set_out.list_view import offers_view
from service.web.set_out.view import OfferView, SearchView, days_view, found_view, groups_view, rules_view
from service.web.stock.view import said_of
from service.web.viewer import Packer, Parent, Viewer

router = APIRouter(include_in_schema=False)

MOST_FOUND, MOST_CHANGES = 12, 3
LONGEST_QUERY = 100
NOT_SENT_AGAIN = frozenset({"version"})
"""Fields of a form that are not sent again once the offer was changed meanwhile."""


@router.get("/set-out")
def show_offers(request: Request, viewer: Packer) -> Response:
    """The household's offers, and what is set out on the days of this week and the next."""
    return _offers_page(request, viewer)


def _offers_page(
    request: Request, viewer: Viewer, form: Form | None = None, asked: str = "", status: int = 200
) -> Response:
    caller, on = viewer.who(), today()
    weeks = weeks_of(on)
    offers = all_of(caller, OFFERS)
    with caller.store.reading() as connection:
        by_day = offers_by_day(connection, caller.household, weeks[0][0], weeks[-1][-1])
    kept = kept_now(caller)
    view = offers_view(offers, weeks, by_day, on, kept, form or Form(), asked, may_change=_may_change(viewer))
    return page(request, viewer, "set_out/offers.html", view, status)


@router.post("/set-out/kept")
def keep_how_kept(request: Request, viewer: Parent, form: SentForm) -> Response:
    """How lunches are kept until they are eaten, said once."""
    back = form.text("back")
    try:
        keep_holding(viewer.who(), form)
    except (LunchError, ValidationError) as fault:
        return _offers_page(request, viewer, form.with_faults(fault, FIELDS), "kept", 422)
    return go(f"/set-out/{back}" if _is_id(back) else "/set-out")


@router.get("/set-out/{offer}")
@heavy
def show_offer(
    request: Request,
    viewer: Packer,
    offer: str,
    into: str = "",
    new: str = "",
    q: str = Query("", max_length=LONGEST_QUERY),
    helps: bool = False,
) -> Response:
    """One offer with what follows from it; ``into``: the group that foods are searched for, ``new``: one still to be made.

    ``helps``: with the smallest changes, which take longer to find than all else on the page.
    """
    search = (into or new, not into, q) if into or new else None
    return _offer_page(request, viewer, offer, search=search, helps=helps)


def _offer_page(
    request: Request,
    viewer: Viewer,
    offer: str,
    *,
    search: tuple[str, bool, str] | None = None,
    form: Form | None = None,
    asked: str = "",
    conflict: Conflict | None = None,
    helps: bool = False,
    status: int = 200,
    undo: str = "",
) -> Response:
    caller, on = viewer.who(), today()
    weeks = weeks_of(on)
    names = {one["id"]: one["name"] for one in all_of(caller, OFFERS)}
    with caller.store.reading() as connection:
        mark = household_mark(connection, caller.household)
        record = show_record(connection, OFFERS, caller.household, offer)
        shown = offer_shown(connection, caller.household, record)
        by_day = offers_by_day(connection, caller.household, weeks[0][0], weeks[-1][-1])
        found = None if search is None else _search(connection, viewer, shown, *search)
        follows = _follows(connection, viewer, offer, on, MOST_CHANGES if helps else 0)
        few = too_few_portions(connection, caller.household, shown["id"], on, by_day)
    kept = kept_now(caller)
    children = {one["id"]: one["nickname"] for one in all_of(caller, CHILDREN)}
    view = OfferView(
        id=shown["id"],
        name=shown["name"],
        version=shown["version"],
        mark=mark,
        groups=groups_view(shown, found, children, viewer.language),
        alternatives=shown["alternatives"],
        rules=rules_view(shown),
        weeks=days_view(weeks, by_day, shown["id"], names, on),
        follows=follows,
        may_change=_may_change(viewer),
        kept_said=kept_said(kept),
        kept_form=kept_form(kept),
        today=on.isoformat(),
        new_search=found if found is not None and found.new else None,
        form=form or Form(),
        asked=asked,
        conflict=conflict,
        others=[(one, name) for one, name in names.items() if one != shown["id"]],
        few=said_of(few, viewer.language),
        undo=undo,
    )
    return page(request, viewer, "set_out/offer.html", view, status)


def _follows(connection: Connection, viewer: Viewer, offer: str, on: date, max_changes: int) -> FollowsView:
    try:
        return follows_view(
            audit_for_family(connection, viewer.who().household, offer, on, max_changes), looked=max_changes > 0
        )
    except LunchError as fault:
        return nothing_follows(fault_sentences(fault))


def _search(
    connection: Connection, viewer: Viewer, shown: dict[str, Any], into: str, new: bool, query: str
) -> SearchView:
    """Foods for a group: those that match what was typed, else everyday foods of the kinds that are in it."""
    group = next((one for one in shown["groups"] if one["id"] == into), None)
    there = set() if group is None else {item["food"] for item in group["items"]}
    household = viewer.who().household
    if query.strip():
        rows: Sequence[Any] = search_household_foods(connection, household, query, MOST_FOUND + len(there), None)[
            "items"
        ]
    else:
        rows = foods_like([] if group is None else [item["food"] for item in group["items"] if item["food"]], into)
    found = [found_view(row) for row in rows if row["id"] not in there]
    return SearchView(into, new and group is None, query, found[:MOST_FOUND])


@router.post("/set-out/new")
def use_again(request: Request, viewer: Parent, form: SentForm) -> Response:
    """An old offer under a new name; where the name is taken, the page says so and keeps what was typed."""
    caller = viewer.who()
    old = one_of(caller, OFFERS, form.text("old"))
    body = {name: old[name] for name in ("groups", "alternatives", "rules")}

    def copy(connection: Connection) -> str:
        name = form.text("name") or free_name(connection, caller.household, old["name"])
        asked = read_asked(OFFERS, to_json({**body, "name": name}))
        return str(keep_record(connection, OFFERS, caller.household, asked, None).record.id)

    try:
        made = make_once(caller, form, copy)
    except (LunchError, ValidationError) as fault:
        taken = name_taken(form.text("name"), viewer.language)
        return _offers_page(
            request, viewer, form.with_faults(fault, {"/name": "name"}, taken), f"again-{old['id']}", 422
        )
    return go(f"/set-out/{made}")


@router.post("/set-out/{offer}/days")
def set_days(viewer: Parent, offer: str, form: SentForm) -> Response:
    """Set the offer out on the days that are ticked."""
    caller = viewer.who()
    with caller.store.writing() as connection:
        show_record(connection, OFFERS, caller.household, offer)
        may = {day for week in weeks_of(today()) for day in week if day >= today()}
        days = [[day for day in may if day.isoformat() in form.texts(name)] for name in ("day", "was")]
        set_out_on(connection, caller.household, offer, *days)
    return go(f"/set-out/{offer}#days")


@router.post("/set-out/{offer}/discard")
@heavy
def discard(request: Request, viewer: Parent, offer: str, form: SentForm) -> Response:
    """Remove an offer; one that is named by lunches or days stays, and the page says why."""
    try:
        take_away(viewer.who(), OFFERS, offer, form.text("version"))
    except LunchError as fault:
        return _offer_page(
            request, viewer, offer, form=at_its_form(form.with_faults(fault)), asked="discard", status=409
        )
    return go("/set-out")


@router.post("/set-out/{offer}/{action}")
@heavy
def change_offer(request: Request, viewer: Parent, offer: str, action: str, form: SentForm) -> Response:
    """One small change. Where the offer was changed meanwhile, both are shown: it as it is, and what was wanted."""
    if action not in READ:
        raise HTTPException(404)
    caller = viewer.who()
    search = (form.text("group"), True, form.text("q")) if action == "add" else None
    before: list[Record] = []
    try:
        wish = wanted(action, form)
    except (LunchError, ValidationError) as fault:
        form = at_its_form(form.with_faults(fault))
        return _offer_page(request, viewer, offer, search=search, form=form, asked=_part(action, form), status=422)

    def edit(connection: Connection, matches: Matches) -> Kept:
        before[:] = [show_record(connection, OFFERS, caller.household, offer)]
        matches(before[0].version)
        sent_again = str(before[0].version) != form.text("version")
        if sent_again and wish.there(KeptOffer.model_validate(before[0].body)):
            return Kept(before[0], {}, None)
        body = edited_offer(connection, caller.household, before[0].body, wish.edit)
        return replace_record(connection, OFFERS, caller.household, offer, matches, to_json(body), None)

    try:
        kept = edit_once(caller, OFFERS, offer, form.text("version"), edit)
    except (LunchError, ValidationError) as fault:
        form = at_its_form(form.with_faults(fault, name_taken=name_taken(form.text("name"), viewer.language)))
        return _offer_page(request, viewer, offer, search=search, form=form, asked=_part(action, form), status=422)
    except ChangedMeanwhile:
        return _offer_page(request, viewer, offer, conflict=_overtaken(viewer, offer, action, form, wish), status=409)
    if action == "make-right" and kept.record.version != before[0].version:
        # what it was before is kept nowhere else: the page that says so carries it
        parts = {name: before[0].body[name] for name in ("groups", "alternatives", "rules")}
        return _offer_page(request, viewer, offer, undo=to_json(parts).decode())
    return go(f"/set-out/{offer}{_back_to(action, form)}")


def _overtaken(viewer: Viewer, offer: str, action: str, form: Form, wish: Wanted) -> Conflict:
    """A change that was made from an offer that is different by now: said in words, and sent again by one button."""
    fields = [(name, one) for name in form.names() if name not in NOT_SENT_AGAIN for one in form.texts(name)]
    difference = Difference(
        text("set-out.changed-what", viewer.language),
        said(wish.said, viewer.language),
        text("set-out.changed-there", viewer.language),
    )
    now = one_of(viewer.who(), OFFERS, offer)["version"]
    return Conflict([difference], str(now), f"/set-out/{offer}", Again(f"/set-out/{offer}/{action}", fields))


def _part(action: str, form: Form) -> str:
    """The part of the page that a form is of: the same words as in the template."""
    return "~".join(part for part in (action, form.text("group"), form.text("item")) if part)


def _back_to(action: str, form: Form) -> str:
    """Where the page goes on after a change: adding goes on adding."""
    from urllib.parse import urlencode

    return f"?{urlencode({'into': form.text('group')})}#add" if action == "add" else ""


def _may_change(viewer: Viewer) -> bool:
    return viewer.who().rights == "keep"


def _is_id(text: str) -> bool:
    from service.jobs.requests.fields import is_kept_id

    return is_kept_id(text)
