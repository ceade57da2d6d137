"""A plan's shopping list: looked at, ticked, printed, kept as a file."""

from datetime import date
from typing import Annotated, Any
from urllib.parse import urlencode

import orjson
from fastapi import APIRouter, Query, Request, Response
from pydantic import ValidationError
from starlette.exceptions import HTTPException

from service.jobs.household.from_plan.planned import StoredPlan
from service.jobs.household.from_plan.shopping import (
    came_home,
    keep_bought,
    lines_of,
    list_of_plan,
    shopping_asked,
    ticked_lines,
)
from service.jobs.household.stock.known_foods import KnownFoods
from service.jobs.plan.shopping.csv import shopping_csv
from service.jobs.requests.fields import day_in
from service.web.care.downloads import file_to_keep
from service.web.forms.form import Form, SentForm
from service.web.forms.numbers import number_in
from service.web.kitchen.plan_at_hand import PlanHere, sheets_here
from service.web.kitchen.sheets import UNITS
from service.web.kitchen.shopping_view import mark_of, shopping_view
from service.web.kitchen.ticks import tick, untick
from service.web.language.chosen import text
from service.web.pages import go, page
from service.web.viewer import Packer, Parent, Viewer

router = APIRouter(include_in_schema=False)

ShopOn = Annotated[str, Query(max_length=20)]
ShopUnits = Annotated[str, Query(max_length=10)]
CSV, JSON = "text/csv; charset=utf-8; header=present", "application/json"


@router.get("/plans/{plan}/shopping")
def show_shopping(
    request: Request, viewer: Packer, there: PlanHere, shop: ShopOn = "", units: ShopUnits = ""
) -> Response:
    """The list; ``shop``: the first day of shopping; ``units``: metric or us."""
    return _shown(request, viewer, there, Form({"shop": [shop], "units": [units]}))


@router.get("/plans/{plan}/shopping.csv")
def keep_csv(viewer: Packer, there: PlanHere, shop: ShopOn = "") -> Response:
    """The list as a table."""
    reply = _reply(viewer, there, day_in(shop)) or _none()
    return file_to_keep(shopping_csv(reply).encode(), "shopping.csv", CSV)


@router.get("/plans/{plan}/shopping.json")
def keep_json(viewer: Packer, there: PlanHere, shop: ShopOn = "") -> Response:
    """The list as data."""
    reply = _reply(viewer, there, day_in(shop)) or _none()
    return file_to_keep(orjson.dumps(reply, option=orjson.OPT_INDENT_2), "shopping.json", JSON)


@router.post("/plans/{plan}/shopping/bought")
def bought(request: Request, viewer: Parent, form: SentForm, there: PlanHere) -> Response:
    """Put a line that was bought in the stock; sent again, from this device or another, it changes nothing."""
    caller = viewer.who()
    grams = number_in(form, "grams", viewer.language)
    if grams is None and not form.fault_of("grams"):
        form.wrong("grams", text("kitchen.give-grams", viewer.language))
    reply = _reply(viewer, there, day_in(form.text("shop")))
    line = next((one for one in lines_of(reply or {"days": []}) if one["line"] == form.text("line")), None)
    if line is None:
        raise HTTPException(404)
    if not form.faults and grams is not None:
        place, fields = form.text("place"), {"/portions": "grams", "/portion_grams": "grams", "/place": "place"}
        if tick(viewer, form, lambda store: keep_bought(store, caller.household, there, line, grams, place), fields):
            return _back(there, form)
    return _shown(request, viewer, there, form, 422)


@router.post("/plans/{plan}/shopping/not-bought")
def not_bought(viewer: Parent, form: SentForm, there: PlanHere) -> Response:
    """Take a line out of the stock again, as much of it as is left."""
    untick(viewer, there, form)
    return _back(there, form)


def _back(plan: StoredPlan, form: Form) -> Response:
    query = _query(day_in(form.text("shop")), _units(form))
    return go(f"/plans/{plan.id}/shopping{query}#line-{mark_of(form.text('line'))}")


def _shown(request: Request, viewer: Viewer, plan: StoredPlan, form: Form, status: int = 200) -> Response:
    typed = form.text("shop")
    shop = day_in(typed)
    if typed and shop is None:
        form.wrong("shop", text("stock.give-day", viewer.language))
    try:
        reply = _reply(viewer, plan, shop)
    except ValidationError:
        form.wrong("shop", text("kitchen.shop-too-late", viewer.language))
        shop, reply = None, _reply(viewer, plan, None)
    first = typed or ("" if reply is None else reply["shop_on"])
    shown = Form({**{name: form.texts(name) for name in ("line", "grams", "place") if name in form}, "shop": [first]})
    shown.faults = form.faults
    units = _units(form)
    view = shopping_view(sheets_here(plan, viewer.language), reply, shown, _query(shop), units, viewer.language)
    return page(request, viewer, "kitchen/shopping.html", view, 422 if form.faults else status)


def _reply(viewer: Viewer, plan: StoredPlan, shop: date | None) -> dict[str, Any] | None:
    """The list; None where the plan needs nothing. ``ValidationError`` for a first day of shopping that is too late."""
    caller = viewer.who()
    with caller.store.reading() as connection:
        asked = shopping_asked(connection, caller.household, plan, shop)
        if asked is None:
            return None
        foods = KnownFoods(connection, caller.household)
        ticked = ticked_lines(connection, caller.household, plan)
        return list_of_plan(asked, ticked, came_home(connection, caller.household, ticked), foods)


def _units(form: Form) -> str:
    typed = form.text("units")
    return typed if typed in UNITS else UNITS[0]


def _query(shop: date | None, units: str = UNITS[0]) -> str:
    """What keeps the first day of shopping and the units in an address."""
    kept = {"shop": "" if shop is None else shop.isoformat(), "units": "" if units == UNITS[0] else units}
    query = urlencode({name: one for name, one in kept.items() if one})
    return f"?{query}" if query else ""


def _none() -> dict[str, Any]:
    raise HTTPException(404)
