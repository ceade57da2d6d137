"""Bought lunches: the menu of two weeks typed or from a table, who buys on which day, the price, and what follows."""

import re
from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from fastapi import APIRouter, Request, Response
from pydantic import ValidationError

from service.domain.errors import LunchError
from service.jobs.household.access.households import today
from service.jobs.household.days.school_days import school_day_of, school_days_of
from service.jobs.household.days.school_meals import avoided_by_children, meals_for_children
from service.jobs.household.days.school_menu import MenuOfDay, change_school_day, decoded, keep_menu, read_menu
from service.jobs.household.kinds import CHILDREN, PRICES, SCHOOL_DAYS
from service.jobs.household.records import Record, list_records
from service.jobs.household.weeks.week_cost import household_costs
from service.jobs.requests.fields import Day
from service.jobs.weeks.cost_rows import decimals_of
from service.jobs.weeks.requests import MOST_MINOR, Menu, week_of
from service.reference.fault_words import fault_words
from service.web.bought.view import SAYS, bought_view, form_of_meal, look_view, meal_prices, meal_view
from service.web.forms.form import Form, FoundFault, SentForm
from service.web.forms.numbers import number_in, number_of
from service.web.label_figures import FIGURE_FIELDS
from service.web.language.chosen import spoken_text, text
from service.web.pages import go, page
from service.web.prices.form import what_of
from service.web.records import all_of, keep_again, keep_new, with_version
from service.web.refusals import ChangedMeanwhile
from service.web.viewer import Packer, Parent, Viewer
from service.web.weeks import WeekAsked, week_asked

router = APIRouter(include_in_schema=False)

WEEKS = 2
MOST_ON_A_PAGE = 100
USUAL_CURRENCY = "USD"
"""Where no price is stored that would say which one the household pays in."""
LINE = re.compile(r"line (?P<line>\d+)(?:, (?:column )?(?P<column>\w+))?")
"""The place of a fault in a table."""
OF_NO_CELL = frozenset(
    {"menu-not-utf8", "menu-too-long", "menu-without-days", "menu-too-many-days", "menu-quotes", "menu-cells"}
)
"""Faults of a table whose value is not the text of a cell: what to do says all."""


@router.get("/bought")
def show_bought(request: Request, viewer: Packer, week: str = "") -> Response:
    """Two weeks of the school's menu, who buys, what it means for each child, and packed against bought."""
    return _page(request, viewer, week_asked(week))


@router.post("/bought")
def keep_two_weeks(request: Request, viewer: Parent, form: SentForm) -> Response:
    """Keep the names of the meals and who buys, for all days at once or none."""
    caller = viewer.who()
    asked = week_asked(form.text("week"))
    days = [on for on in asked.school_days(WEEKS) if f"version-{on}" in form]
    meals = {on: _named(form, f"name-{on}") for on in days}
    if form.faults:
        return _page(request, viewer, asked, form)
    try:
        with caller.store.writing() as connection:
            for on in days:
                before = school_day_of(connection, caller.household, on)
                parts = _changed(meals[on], form.texts(f"buys-{on}"), before)
                if parts:
                    _see_version(form.text(f"version-{on}"), before)
                    change_school_day(connection, caller.household, on, parts)
    except LunchError as fault:
        return _page(request, viewer, asked, form.with_faults(fault))
    return go(f"/bought?week={asked.week}")


@router.get("/bought/day/{day}")
def show_meal(request: Request, viewer: Parent, day: Day) -> Response:
    """One day's meal, with its figures and what it declares."""
    caller = viewer.who()
    with caller.store.reading() as connection:
        found = school_day_of(connection, caller.household, day)
        avoided = avoided_by_children(connection, caller.household)
    version = "" if found is None else str(found.version)
    form = form_of_meal(None if found is None else found.body["menu"])
    return page(request, viewer, "bought/meal.html", meal_view(day, week_of(day), version, form, avoided))


@router.post("/bought/day/{day}")
def keep_meal(request: Request, viewer: Parent, day: Day, form: SentForm) -> Response:
    """Keep one day's meal; without a name there is none."""
    caller = viewer.who()
    facts = {one: number_in(form, one, viewer.language) for one in FIGURE_FIELDS}
    try:
        with caller.store.writing() as connection:
            before = school_day_of(connection, caller.household, day)
            there = None if before is None else before.body["menu"]
            menu = _menu(form, there or {}, facts)
            if not form.faults and (None if menu is None else menu.model_dump(mode="json")) != there:
                _see_version(form.text("version"), before)
                change_school_day(connection, caller.household, day, {"menu": menu})
    except (LunchError, ValidationError) as fault:
        fields = {"/facts": "facts", "/name": "name", "/contains": "contains", "/may_contain": "may_contain"}
        fields |= {f"/facts/{one}": one for one in FIGURE_FIELDS}
        form.with_faults(fault, fields)
    if form.faults:
        with caller.store.reading() as connection:
            avoided = avoided_by_children(connection, caller.household)
        view = meal_view(day, week_of(day), form.text("version"), form, avoided)
        return page(request, viewer, "bought/meal.html", view, 422)
    return go(f"/bought?week={week_of(day)}")


@router.post("/bought/table")
def look_at_table(request: Request, viewer: Parent, form: SentForm) -> Response:
    """Read a table and show it; nothing is kept yet."""
    caller = viewer.who()
    try:
        table = _table(form)
        days = read_menu(table)
    except LunchError as fault:
        return _page(request, viewer, week_asked(form.text("week")), table_form=_wrong_table(form, fault))
    with caller.store.reading() as connection:
        stored = {one.on.isoformat(): school_day_of(connection, caller.household, one.on) for one in days}
    there = {on: found.body for on, found in stored.items() if found is not None}
    return page(request, viewer, "bought/look.html", look_view(days, there, table, form.text("week")))


@router.post("/bought/table/keep")
def keep_table(request: Request, viewer: Parent, form: SentForm) -> Response:
    """Keep all days of a table that was looked at, or none."""
    caller = viewer.who()
    try:
        days: list[MenuOfDay] = read_menu(form.text("table"))
        with caller.store.writing() as connection:
            keep_menu(connection, caller.household, days)
    except LunchError as fault:
        return _page(request, viewer, week_asked(form.text("week")), table_form=_wrong_table(form, fault))
    return go(f"/bought?week={week_of(days[0].on)}")


def _wrong_table(form: Form, fault: LunchError) -> Form:
    """The form with each fault of the table: its line and column, the value of a cell, and what to do."""
    for one in fault.faults():
        found = fault_words(one)
        if one.code in OF_NO_CELL:
            sentence = found.remedy
        else:
            sentence = FoundFault(one.slug, "", str(one.value), *found).sentence()
        line = LINE.fullmatch(one.pointer)
        if line:
            column = "column" if line["column"] else "line"
            sentence = spoken_text(
                f"bought.in-{column}", line=line["line"], column=line["column"] or "", fault=sentence
            )
        form.wrong("table", sentence)
    return form


@router.post("/bought/price")
def keep_price(request: Request, viewer: Parent, form: SentForm) -> Response:
    """Keep the price of the school's meal from a day on, for all children or for one."""
    caller = viewer.who()
    asked = week_asked(form.text("week"))
    currency = form.text("currency").upper()
    amount = _minor(form.text("amount"), currency, viewer.language)
    if amount is None:
        return _page(request, viewer, asked, price_form=form.wrong("amount", _no_amount(viewer)))
    body = {
        "what": "school_meal",
        "child": form.text("who") or None,
        "amount_minor": amount,
        "currency": currency,
        "from": form.text("from") or today().isoformat(),
        "until": form.text("until") or None,
    }
    same = next(
        (one for one in _meal_prices(viewer) if (what_of(one), one["from"]) == (what_of(body), body["from"])), None
    )
    try:
        if same is None:
            keep_new(caller, PRICES, body)
        else:
            keep_again(caller, PRICES, same["id"], str(same["version"]), body)
    except (LunchError, ValidationError) as fault:
        fields = {
            "/child": "who",
            "/amount_minor": "amount",
            "/currency": "currency",
            "/from": "from",
            "/until": "until",
        }
        return _page(request, viewer, asked, price_form=form.with_faults(fault, fields))
    return go(f"/bought?week={asked.week}#price")


def _page(
    request: Request,
    viewer: Viewer,
    asked: WeekAsked,
    days_form: Form | None = None,
    price_form: Form | None = None,
    table_form: Form | None = None,
) -> Response:
    caller = viewer.who()
    last = asked.monday + timedelta(days=7 * WEEKS - 1)
    where = school_days_of(asked.monday, last)
    with caller.store.reading() as connection:
        days = list_records(connection, SCHOOL_DAYS, caller.household, MOST_ON_A_PAGE, None, where)["items"]
        meals = meals_for_children(connection, caller.household, asked.monday, WEEKS)
        try:
            costs = household_costs(connection, caller.household, asked.week)
        except LunchError:
            costs = None  # a child's record that no longer fits: its week says what to mend
    prices = _meal_prices(viewer)
    currency = prices[-1]["currency"] if prices else USUAL_CURRENCY if costs is None else costs["currency"]
    children = all_of(caller, CHILDREN)
    usual = Form({"currency": [currency], "from": [today().isoformat()]})
    given = [one for one in (days_form, price_form, table_form) if one is not None]
    view = bought_view(
        asked,
        {one["date"]: one for one in days},
        children,
        meals,
        meal_prices(prices, children, viewer.language),
        costs,
        days_form=days_form or Form(),
        price_form=price_form or usual,
        table_form=table_form or Form(),
        may_write=caller.rights == "keep",
    )
    return page(request, viewer, "bought/bought.html", view, 422 if given else 200)


def _named(form: Form, field: str) -> Menu | None:
    """The meal of a name that was typed; a name that cannot be one is noted as a fault of the field."""
    if not form.text(field):
        return None
    try:
        return Menu(name=form.text(field))
    except ValidationError as fault:
        form.with_faults(fault, {"/name": field})
        return None


def _changed(menu: Menu | None, buys: list[str], before: Record | None) -> dict[str, Any]:
    """What is typed otherwise than it is stored. A new name is another meal: its figures and allergens are not known."""
    body: Mapping[str, Any] = {"menu": None, "buys": []} if before is None else before.body
    parts: dict[str, Any] = {}
    if ("" if menu is None else menu.name) != (body["menu"] or {"name": ""})["name"]:
        parts["menu"] = menu
    if set(buys) != set(body["buys"]):
        parts["buys"] = buys
    return parts


def _see_version(version: str, before: Record | None) -> None:
    """``ChangedMeanwhile`` where a day is no longer what the form was made from."""
    if version != ("" if before is None else str(before.version)):
        raise ChangedMeanwhile({} if before is None else with_version(before))


def _menu(form: Form, before: Mapping[str, Any], facts: Mapping[str, float | None]) -> Menu | None:
    """The meal that a form says; what it has no field for stays. ``ValidationError`` for what does not fit."""
    if not form.text("name"):
        return None
    body = {name: before[name] for name in ("credits", "groups") if before.get(name)}
    asked = {name.removeprefix(SAYS): form.text(name) for name in form.names() if name.startswith(SAYS)}
    body["allergens"] = [one for one in before.get("allergens", []) if one["allergen"] not in asked]
    body["allergens"] += [{"allergen": one, "level": level} for one, level in asked.items() if level]
    body |= {name: form.text(name) or None for name in ("name", "contains", "may_contain")}
    return Menu.model_validate({**body, "facts": facts})


def _table(form: Form) -> str:
    """The table of a file, or pasted."""
    sent = form.files.get("file")
    if sent is None:
        return form.text("table")
    with sent.file as opened:
        content: bytes = opened.read()
    return decoded(content) if content else form.text("table")


def _minor(text: str, currency: str, language: str) -> int | None:
    """An amount as it is typed, in minor units; None where it is none."""
    amount = number_of(text, language)
    try:
        minor = None if amount is None else amount.scaleb(decimals_of(currency))
    except KeyError:
        return None
    whole = minor is not None and minor == minor.to_integral_value() and minor <= MOST_MINOR
    return int(minor) if whole and minor is not None else None


def _meal_prices(viewer: Viewer) -> list[dict[str, Any]]:
    """The prices of the school's meal, by their first day."""
    found = [one for one in all_of(viewer.who(), PRICES) if one["what"] == "school_meal"]
    return sorted(found, key=lambda one: str(one["from"]))


def _no_amount(viewer: Viewer) -> str:
    """What is said of a price that is none."""
    return text("bought.no-amount", viewer.language)
