"""Prices: listed by what they are of, given, changed, removed."""

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from pydantic import ValidationError
from starlette.exceptions import HTTPException

from service.domain.errors import LunchError
from service.jobs.household.access.households import today
from service.jobs.household.foods.own_foods import measures_of
from service.jobs.household.foods.search import search_household_foods
from service.jobs.household.kinds import CHILDREN, PRICES
from service.jobs.household.stored.kept_prices import counted_currency
from service.web.forms.conflicts import conflict_between
from service.web.forms.form import Form, SentForm
from service.web.pages import go, page
from service.web.prices.form import MEAL, form_of, is_meal, new_form, parts_of, said, what_of, with_faults
from service.web.prices.view import PricesView, PriceView, found_food, meals_of, named, other_packs, priced_things
from service.web.records import all_of, keep_once, keep_parts, one_of, take_away
from service.web.refusals import ChangedMeanwhile
from service.web.viewer import Packer, Parent, Viewer

router = APIRouter(include_in_schema=False)

SHOWN = 12
Asked = Annotated[str, Query(max_length=120)]


@router.get("/prices")
def show_prices(request: Request, viewer: Packer, q: Asked = "") -> Response:
    """All prices; with words, foods to give a price to."""
    caller = viewer.who()
    records = all_of(caller, PRICES)
    found: list[dict[str, Any]] = []
    with caller.store.reading() as connection:
        known = measures_of(connection, caller.household, [one["food"] for one in records if one["food"]])
        counted = counted_currency(connection, caller.household, today())
        if q.strip():
            found = search_household_foods(connection, caller.household, q, SHOWN, None)["items"]
    known |= meals_of(all_of(caller, CHILDREN))
    rows = [found_food(one, viewer.language) for one in found]
    view = PricesView(priced_things(records, known, counted, viewer.language), q, rows)
    return page(request, viewer, "prices/prices.html", view)


@router.get("/prices/new")
def show_new(request: Request, viewer: Parent, food: Asked = MEAL) -> Response:
    """A form for a price of a food, or of the school's meal, for all children or for one."""
    kept = all_of(viewer.who(), PRICES)
    form = new_form(kept[-1]["currency"] if kept else "", today())
    return page(request, viewer, "prices/price.html", _view(viewer, food, form))


@router.post("/prices/new")
def keep_price(request: Request, viewer: Parent, form: SentForm) -> Response:
    """Keep a new price."""
    what = form.text("food") or MEAL
    view = _view(viewer, what, form)
    parts = parts_of(form, what, viewer.language)
    if not form.faults:
        try:
            keep_once(viewer.who(), PRICES, form.text("repeat"), parts)
            return go("/prices")
        except (LunchError, ValidationError) as found:
            with_faults(form, found, viewer.language)
    return page(request, viewer, "prices/price.html", view, 422)


@router.get("/prices/{price}")
def show_price(request: Request, viewer: Parent, price: str) -> Response:
    """One price, to be changed or removed."""
    record = one_of(viewer.who(), PRICES, price)
    view = _view(viewer, what_of(record), form_of(record, viewer.language), record)
    return page(request, viewer, "prices/price.html", view)


@router.post("/prices/{price}")
def change_price(request: Request, viewer: Parent, price: str, form: SentForm) -> Response:
    """Keep what was changed."""
    record = one_of(viewer.who(), PRICES, price)
    what = what_of(record)
    parts = parts_of(form, what, viewer.language)
    more: dict[str, Any] = {"version": form.text("version")}
    if not form.faults:
        try:
            keep_parts(viewer.who(), PRICES, price, form.text("version"), parts)
            return go("/prices")
        except ChangedMeanwhile as changed:
            theirs, now = form_of(changed.theirs, viewer.language), changed.theirs["version"]
            mine = said(form, viewer.language)
            more["conflict"] = conflict_between(mine, said(theirs, viewer.language), now, f"/prices/{price}")
            more["version"] = str(now)
        except (LunchError, ValidationError) as found:
            with_faults(form, found, viewer.language)
    status = 409 if "conflict" in more else 422
    return page(request, viewer, "prices/price.html", _view(viewer, what, form, record, **more), status)


@router.post("/prices/{price}/remove")
def remove_price(viewer: Parent, price: str, form: SentForm) -> Response:
    """Remove a price; shown again where it was changed meanwhile."""
    try:
        take_away(viewer.who(), PRICES, price, form.text("version"))
    except ChangedMeanwhile:
        return go(f"/prices/{price}")
    return go("/prices")


def _view(viewer: Viewer, what: str, form: Form, record: dict[str, Any] | None = None, **more: Any) -> PriceView:
    """The page of a price; there is none of a food that is not known."""
    caller = viewer.who()
    kept = record or {"id": "", "version": ""}
    more.setdefault("version", str(kept["version"]))
    with caller.store.reading() as connection:
        known = measures_of(connection, caller.household, [] if is_meal(what) else [what])
    if is_meal(what):
        known = meals_of(all_of(caller, CHILDREN))
    if record is None and what != MEAL and what not in known:
        raise HTTPException(404)
    packs = [] if is_meal(what) else [one for one in all_of(caller, PRICES) if what_of(one) == what]
    more["others"] = other_packs(packs, kept["id"], viewer.language)
    return PriceView(kept["id"], what, *named(what, known, viewer.language), form=form, **more)
