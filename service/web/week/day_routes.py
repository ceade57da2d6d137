"""One day of a child: log its lunch or correct it, from what is set out, from any food, bought, or none."""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from datetime import date
from typing import Any, NamedTuple
from uuid import UUID

from fastapi import APIRouter, Request, Response
from pydantic import ValidationError

from service.domain.errors import LunchError, MustNotBePacked, OutsideAgeGroups
from service.domain.offers.taking import Key
from service.jobs.household.days.lunches import lunch_on
from service.jobs.household.days.school_days import school_day_of
from service.jobs.household.foods.foods_shown import names_and_units
from service.jobs.household.foods.search import household_foods_of_ids, search_household_foods
from service.jobs.household.kinds import CHILDREN, LUNCHES
from service.jobs.household.offers.taking import items_offered
from service.jobs.household.records import Connection, Record, show_record
from service.jobs.requests.fields import Day as DayAsked
from service.jobs.weeks.requests import week_of
from service.reference.fault_words import fault_words
from service.web.forms.form import Form, SentForm
from service.web.pages import go, page
from service.web.records import keep_again, keep_new, take_away
from service.web.refusals import ChangedMeanwhile
from service.web.viewer import Parent, Viewer
from service.web.week.day_view import (
    GRAMS,
    DayView,
    FoodShown,
    FoundFood,
    form_of,
    items_of,
    kept_place,
    rows_of,
    set_out_of,
    with_added,
)

router = APIRouter(include_in_schema=False)

MOST_FOUND = 12
FIELDS = {"/items": "items", "/menu": "menu-name", "/acknowledged": "reason", "/kind": "kind"}
HUNDRED_GRAMS = "100 g"
"""The usual amount of a food of which no household measure is known, as a search tells it."""


class Day(NamedTuple):
    """What is stored of a day of a child: the lunch, the school's meal, and what is set out."""

    nickname: str
    lunch: Record | None
    menu: dict[str, Any] | None
    buys: bool
    offer: str | None
    groups: Sequence[Mapping[str, Any]]
    offered: Mapping[Key, Mapping[str, Any]]


@router.get("/week/{child}/{day}")
def show_day(request: Request, viewer: Parent, child: str, day: DayAsked) -> Response:
    """The day's form, with what is logged, or with what the school day says."""
    caller = viewer.who()
    with caller.store.reading() as connection:
        there = _there(connection, caller.household, child, day)
        body = None if there.lunch is None else there.lunch.body
        return _page(request, viewer, connection, child, day, there, form_of(body, buys=there.buys))


@router.post("/week/{child}/{day}")
def keep_day(request: Request, viewer: Parent, child: str, day: DayAsked, form: SentForm) -> Response:
    """Look for foods, or keep the lunch: checked and screened as any other; what must not be packed needs a reason."""
    caller = viewer.who()
    with caller.store.reading() as connection:
        there = _there(connection, caller.household, child, day)
        added = household_foods_of_ids(connection, caller.household, form.texts("add"))["items"]
        whole = with_added(form, {one["id"]: _usual(one) for one in added})
        if form.text("do") == "find":
            found = search_household_foods(connection, caller.household, form.text("q"), MOST_FOUND, None)["items"]
            return _page(request, viewer, connection, child, day, there, whole, found=found)
    try:
        _keep(viewer, child, day, there, whole)
    except MustNotBePacked as against:
        sentences = [(str(one.value), fault_words(one, viewer.language).problem) for one in against.faults()]
        return _again(request, viewer, child, day, there, whole, not_for=sentences)
    except (LunchError, ValidationError) as fault:
        rows = {f"/items/{row}": f"item-{row}" for row in range(len(whole.texts("what")))}
        return _again(request, viewer, child, day, there, whole.with_faults(fault, FIELDS | rows))
    except ChangedMeanwhile:
        with caller.store.reading() as connection:
            now = _there(connection, caller.household, child, day)
        return _again(request, viewer, child, day, now, whole, changed=True)
    return go(f"/week/{child}?week={week_of(day)}#day-{day}")


@router.post("/week/{child}/{day}/remove")
def remove_day(viewer: Parent, child: str, day: DayAsked, form: SentForm) -> Response:
    """Take a lunch out again, as if it had not been logged."""
    caller = viewer.who()
    with caller.store.reading() as connection:
        there = _there(connection, caller.household, child, day, set_out=False)
    if there.lunch is not None:
        take_away(caller, LUNCHES, str(there.lunch.id), form.text("version"))
    return go(f"/week/{child}?week={week_of(day)}#day-{day}")


def _there(connection: Connection, household: UUID, child: str, day: date, *, set_out: bool = True) -> Day:
    kept = show_record(connection, CHILDREN, household, child)
    lunch = lunch_on(connection, household, kept.id, day)
    school = school_day_of(connection, household, day)
    body: Mapping[str, Any] = {} if school is None else school.body
    offer = body.get("offer")
    groups: Sequence[Mapping[str, Any]] = []
    offered: Mapping[Key, Mapping[str, Any]] = {}
    if offer is not None and set_out:
        # The child's week says what to change; a day without lunch, or bought, is logged all the same.
        with suppress(OutsideAgeGroups):
            groups, offered = items_offered(connection, household, child, offer, day)
    buys = child in body.get("buys", [])
    return Day(kept.body["nickname"], lunch, body.get("menu"), buys, offer, groups, offered)


def _keep(viewer: Viewer, child: str, day: date, there: Day, form: Form) -> None:
    if there.lunch is None and form.text("version"):
        raise ChangedMeanwhile({})
    body = _body(child, day, there, form, viewer.language)
    caller = viewer.who()
    if there.lunch is None:
        keep_new(caller, LUNCHES, body)
    else:
        keep_again(caller, LUNCHES, str(there.lunch.id), form.text("version"), body)


def _body(child: str, day: date, there: Day, form: Form, language: str) -> dict[str, Any]:
    """The lunch that a form says; what is known of an item beside its amount stays with it."""
    before = None if there.lunch is None else there.lunch.body
    kind = form.text("kind")
    body: dict[str, Any] = {"child": child, "date": day.isoformat(), "kind": kind}
    if kind == "bought":
        typed = form.text("menu-name")
        same = before is not None and before["menu"] is not None and before["menu"]["name"] == typed
        if same and before is not None:
            return {**body, "menu": before["menu"]}
        if there.menu is not None and typed in ("", there.menu["name"]):
            return {**body, "menu": there.menu}
        return {**body, "menu": {"name": typed} if typed else None}
    if kind != "packed":
        return body
    items, moved = items_of(form, before, there.offered, language)
    body["items"] = items
    if before is not None and before["kind"] == "packed":
        body["holding"] = before["holding"]
        body["offer"] = before["offer"]
        if before["uneaten"] is not None:
            body["uneaten"] = [{**one, "item": moved[one["item"]]} for one in before["uneaten"] if one["item"] in moved]
    if form.texts("take") and there.offer is not None:
        body["offer"] = there.offer
    if form.text("reason"):
        body["acknowledged"] = {"reason": form.text("reason")}
    return body


def _again(
    request: Request,
    viewer: Viewer,
    child: str,
    day: date,
    there: Day,
    form: Form,
    *,
    not_for: Sequence[tuple[str, str]] = (),
    changed: bool = False,
) -> Response:
    caller = viewer.who()
    with caller.store.reading() as connection:
        return _page(request, viewer, connection, child, day, there, form, not_for=not_for, changed=changed, status=409)


def _page(
    request: Request,
    viewer: Viewer,
    connection: Connection,
    child: str,
    day: date,
    there: Day,
    form: Form,
    *,
    found: Sequence[Mapping[str, Any]] | None = None,
    not_for: Sequence[tuple[str, str]] = (),
    changed: bool = False,
    status: int = 200,
) -> Response:
    household = viewer.who().household
    before = [] if there.lunch is None else there.lunch.body["items"]
    foods = {what: kept_place(what, before)[1] for what in form.texts("what")}
    shown = names_and_units(connection, household, list(foods.values()))
    named = {what: FoodShown(*one) for what, one in zip(foods, shown, strict=True)}
    theirs = None
    if changed:
        theirs = [name for name, _units in names_and_units(connection, household, [one["food"] for one in before])]
    view = DayView(
        child=child,
        nickname=there.nickname,
        date=day.isoformat(),
        week=week_of(day),
        version="" if there.lunch is None else str(there.lunch.version),
        form=form,
        rows=rows_of(form, named),
        set_out=set_out_of(there.groups, viewer.language),
        found=None if found is None else [FoundFood(one["id"], one["name"]) for one in found],
        menu="" if there.menu is None else there.menu["name"],
        not_for=list(not_for),
        ask_reason=bool(not_for or form.text("reason")),
        theirs=theirs,
    )
    return page(request, viewer, "week/day.html", view, status)


def _usual(row: Mapping[str, Any]) -> tuple[float, str]:
    """The usual amount of a food that was found."""
    return (100.0, GRAMS) if row["usual_unit"] == HUNDRED_GRAMS else (1.0, row["usual_unit"])
