"""The stock: what is there by place, added, moved, taken, thrown, counted."""

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from pydantic import ValidationError
from starlette.exceptions import HTTPException

from service.domain.errors import LunchError, NotThere
from service.jobs.household.access.households import today
from service.jobs.household.foods.own_foods import measures_of
from service.jobs.household.foods.search import search_household_foods
from service.jobs.household.kinds import STOCK
from service.jobs.household.stock.happened import events_shown, stock_event
from service.jobs.household.stock.requests import StockEventAsked
from service.jobs.household.stock.shelves import entries_shown, entry_shown, freezing_said, keep_of, keep_so_many
from service.jobs.household.stock.summary import stock_summary
from service.web.foods.shown import food_row
from service.web.forms.form import Form, SentForm
from service.web.forms.numbers import figure, number_in
from service.web.language.chosen import text
from service.web.pages import go, page
from service.web.records import keep_once, keep_parts, take_away
from service.web.refusals import ChangedMeanwhile
from service.web.stock.form import OF_ENTRY, OF_EVENT, event_of, form_of, new_form, parts_of_change, parts_of_new
from service.web.stock.view import EntryView, NewEntryView, history_line, line_of, number, stock_view
from service.web.viewer import Packer, Parent, Viewer

router = APIRouter(include_in_schema=False)

SHOWN = 12
Asked = Annotated[str, Query(max_length=120)]
FoodAsked = Annotated[str, Query(max_length=120)]


@router.get("/stock")
def show_stock(request: Request, viewer: Packer, q: Asked = "") -> Response:
    """What is there by place; with words, foods to add."""
    caller = viewer.who()
    found: list[dict[str, Any]] = []
    with caller.store.reading() as connection:
        entries = entries_shown(connection, caller.household)
        summary = stock_summary(connection, caller.household)
        known = measures_of(connection, caller.household, [one["food"] for one in entries])
        if q.strip():
            found = search_household_foods(connection, caller.household, q, SHOWN, None)["items"]
    rows = [food_row(one, viewer.language) for one in found]
    return page(request, viewer, "stock/stock.html", stock_view(entries, summary, known, q, rows, viewer.language))


@router.get("/stock/new")
def show_new(request: Request, viewer: Parent, food: FoodAsked = "") -> Response:
    """A form for a new entry of a food; without one, the page to search for it."""
    if not food:
        return go("/stock")
    return page(request, viewer, "stock/new.html", _new_view(viewer, food, new_form(today())))


@router.post("/stock/new")
def keep_entry(request: Request, viewer: Parent, form: SentForm) -> Response:
    """Keep a new entry."""
    food = form.text("food")
    view = _new_view(viewer, food, form)
    parts = parts_of_new(form, food, viewer.language)
    if not form.faults:
        try:
            keep_once(viewer.who(), STOCK, form.text("repeat"), parts)
            return go("/stock")
        except (LunchError, ValidationError) as found:
            form.with_faults(found, OF_ENTRY)
    return page(request, viewer, "stock/new.html", view, 422)


@router.get("/stock/{entry}")
def show_entry(request: Request, viewer: Parent, entry: str) -> Response:
    """One entry: what can happen to it, what happened, what can be changed."""
    return page(request, viewer, "stock/entry.html", _entry_view(viewer, entry, None))


@router.post("/stock/{entry}/days")
def change_entry(request: Request, viewer: Parent, entry: str, form: SentForm) -> Response:
    """Keep the days and the note of an entry; shown again where something happened to it meanwhile."""
    parts = parts_of_change(form, viewer.language)
    if not form.faults:
        try:
            keep_parts(viewer.who(), STOCK, entry, form.text("version"), parts)
            return go("/stock")
        except ChangedMeanwhile:
            form.wrong("", text("stock.changed-meanwhile", viewer.language))
        except (LunchError, ValidationError) as found:
            if isinstance(found, NotThere):
                raise
            form.with_faults(found, OF_ENTRY)
    return page(request, viewer, "stock/entry.html", _entry_view(viewer, entry, form), 422)


@router.post("/stock/{entry}/happened")
def happened(request: Request, viewer: Parent, entry: str, form: SentForm) -> Response:
    """Keep what happened to an entry; a tap that was sent twice, or from an old page, happens once."""
    caller = viewer.who()
    asked = event_of(form, viewer.language)
    if not form.faults:
        try:
            event = StockEventAsked.model_validate(asked)
            with caller.store.writing() as connection:
                stock_event(connection, caller.household, entry, _made_from(form.text("version")), event)
            return go("/stock")
        except ChangedMeanwhile:
            return go("/stock")
        except (LunchError, ValidationError) as found:
            if isinstance(found, NotThere):
                raise
            form.with_faults(found, OF_EVENT)
    return page(request, viewer, "stock/entry.html", _entry_view(viewer, entry, form), 422)


@router.post("/stock/{entry}/keep")
def keep_in_fridge(request: Request, viewer: Parent, entry: str, form: SentForm) -> Response:
    """Keep how many portions of the food are always to be in the fridge; none takes the rule away."""
    caller = viewer.who()
    portions = number_in(form, "keep", viewer.language)
    if not form.faults:
        try:
            with caller.store.writing() as connection:
                food = entry_shown(connection, caller.household, entry)["food"]
                keep_so_many(connection, caller.household, food, portions)
            return go("/stock")
        except (LunchError, ValidationError) as found:
            if isinstance(found, NotThere):
                raise
            form.with_faults(found, {"/keep_in_fridge": "keep"})
    return page(request, viewer, "stock/entry.html", _entry_view(viewer, entry, form), 422)


@router.post("/stock/{entry}/remove")
def remove_entry(viewer: Parent, entry: str, form: SentForm) -> Response:
    """Remove an entry that was added by mistake; shown again where something happened to it meanwhile."""
    try:
        take_away(viewer.who(), STOCK, entry, form.text("version"))
    except ChangedMeanwhile:
        return go(f"/stock/{entry}")
    return go("/stock")


def _made_from(version: str) -> Any:
    def matches(there: int) -> None:
        if str(there) != version:
            raise ChangedMeanwhile({})

    return matches


def _new_view(viewer: Viewer, food: str, form: Form) -> NewEntryView:
    """The page for a new entry; there is none of a food that is not known."""
    caller = viewer.who()
    with caller.store.reading() as connection:
        known = measures_of(connection, caller.household, [food])
        if food not in known:
            raise HTTPException(404)
        advice, grams = freezing_said(connection, caller.household, food, viewer.language)
    return NewEntryView(food, known[food]["name"], figure(grams), advice, form)


def _entry_view(viewer: Viewer, entry_id: str, form: Form | None) -> EntryView:
    caller = viewer.who()
    with caller.store.reading() as connection:
        entry = entry_shown(connection, caller.household, entry_id)
        events = events_shown(connection, caller.household, entry_id)["items"]
        used = [one["food"] for event in events for one in event["ingredients"]]
        known = measures_of(connection, caller.household, [entry["food"], *used])
        freezing, _grams = freezing_said(connection, caller.household, entry["food"], viewer.language)
        keep = keep_of(connection, caller.household, entry["food"])
    whole = form_of(entry)
    shown = whole if form is None else _over(whole, form)
    return EntryView(
        line_of(entry, known, viewer.language),
        entry["place"],
        freezing,
        [history_line(one, known, viewer.language) for one in reversed(events)],
        "" if keep is None else number(keep, viewer.language),
        shown,
        str(entry["version"]),
    )


def _over(whole: Form, typed: Form) -> Form:
    """What is kept, with what was typed over it and its faults."""
    names = {*whole.names(), *typed.names()}
    both = Form({name: (typed if name in typed else whole).texts(name) for name in names})
    both.faults = typed.faults
    return both
