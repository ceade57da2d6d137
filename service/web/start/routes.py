"""Three short steps lead a new household to its first offer, looked at for each child."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any
from uuid import uuid4

from fastapi import APIRouter, Request, Response
from pydantic import ValidationError
from pydantic_core import to_json

from service.domain.errors import LunchError, OutsideAgeGroups
from service.jobs.household.access.households import today
from service.jobs.household.children.child_fits import see_child_fits
from service.jobs.household.foods.usual_foods import country_of, first_offer, usual_foods, usual_foods_for
from service.jobs.household.kinds import CHILDREN, OFFERS
from service.jobs.household.offers.set_out import free_name, offers_by_day, set_out_on, weeks_of
from service.jobs.household.records import Connection, keep_record, read_asked
from service.jobs.household.requests import KeptChild
from service.jobs.household.settings import edit_settings
from service.web.children.form import birth_month_of, see_known
from service.web.children.form import with_faults as with_faults_of_child
from service.web.forms.form import Form, SentForm
from service.web.language.chosen import text
from service.web.pages import go, page
from service.web.records import all_of, keep_new, keep_parts, make_once
from service.web.refusals import ChangedMeanwhile
from service.web.set_out.forms import name_taken
from service.web.set_out.kept_cold import FIELDS, holding_typed, kept_now
from service.web.start.view import (
    IN_WORDS,
    FoodsStep,
    allergens_ticked,
    avoids_step,
    children_step,
    groups_ticks,
)
from service.web.viewer import Parent, Viewer

router = APIRouter(include_in_schema=False)

COUNTRIES = ("US", "GB", "JP")
UNKNOWN = ("start.unknown", "start.unknown-near")
"""As in the form of a child, where Dislikes is not on the page."""
THRESHOLD = "may_contain"
"""What may contain it counts too: a doctor may say otherwise, which is changed on the child's own page."""


@router.get("/start")
def show_children(request: Request, viewer: Parent) -> Response:
    """Who the lunches are for."""
    children = all_of(viewer.who(), CHILDREN)
    chosen = children[-1]["standard"] if children else ""
    return page(
        request,
        viewer,
        "start/children.html",
        children_step(children, Form({"standard": [chosen]}), viewer.language),
    )


@router.post("/start")
def add_child(request: Request, viewer: Parent, form: SentForm) -> Response:
    """One child more."""
    caller = viewer.who()
    if not form.text("nickname"):
        form.wrong("nickname", text("children.give-nickname", viewer.language))
    child = {
        "nickname": form.text("nickname"),
        "birth_month": birth_month_of(form, viewer.language),
        "standard": form.text("standard"),
    }
    if not form.text("standard"):
        form.wrong("standard", text("children.choose-standard", viewer.language))
    if form.faults:
        return _again(request, viewer, form)
    try:
        see_child_fits(KeptChild.model_validate_json(to_json(child)), today())
        keep_new(caller, CHILDREN, child)
    except (LunchError, ValidationError) as fault:
        return _again(request, viewer, _with_child_faults(form, fault, viewer))
    return go("/start")


def _again(request: Request, viewer: Viewer, form: Form) -> Response:
    step = children_step(all_of(viewer.who(), CHILDREN), form, viewer.language)
    return page(request, viewer, "start/children.html", step, 422)


def _with_child_faults(form: Form, fault: LunchError | ValidationError, viewer: Viewer) -> Form:
    if isinstance(fault, LunchError) and all(isinstance(one, OutsideAgeGroups) for one in fault.faults()):
        return form.wrong("standard", text("start.other-standard", viewer.language))
    return with_faults_of_child(form, fault, viewer.language)


@router.get("/start/avoids")
def show_avoids(request: Request, viewer: Parent) -> Response:
    """What each child must not eat, and how the reading of packets works."""
    children = all_of(viewer.who(), CHILDREN)
    if not children:
        return go("/start")
    form = Form(_avoids_as_typed(children))
    return page(request, viewer, "start/avoids.html", _avoids(viewer, children, form, []))


def _avoids(viewer: Viewer, children: Sequence[Mapping[str, Any]], form: Form, conflicts: list[str]) -> Any:
    return avoids_step(children, today(), form, conflicts, viewer.language)


def _jurisdiction(children: Sequence[Mapping[str, Any]]) -> str:
    return country_of(children[0]["standard"]) if children else COUNTRIES[0]


def _avoids_as_typed(children: Sequence[Mapping[str, Any]]) -> dict[str, list[str]]:
    """What is stored, as the form holds it: ticks for what can be ticked, lines for the rest."""
    given: dict[str, list[str]] = {}
    for number, child in enumerate(children):
        ticks = {value for value, _words in allergens_ticked(child["standard"], today())}
        ticks |= {value for value, _code in IN_WORDS}
        stored = [one["allergen"] for one in child["avoids"]]
        given[f"avoid-{number}"] = [one for one in stored if one in ticks]
        given[f"more-{number}"] = ["\n".join(one for one in stored if one not in ticks)]
    return given


@router.post("/start/avoids")
def keep_avoids(request: Request, viewer: Parent, form: SentForm) -> Response:
    """Keep what each child must not eat; a child that another device changed meanwhile is asked about again."""
    caller = viewer.who()
    children = all_of(caller, CHILDREN)
    conflicts: list[str] = []
    for number, child in enumerate(children):
        if form.text(f"child-{number}") != child["id"]:
            continue
        typed = [*form.texts(f"avoid-{number}"), *_lines(form.text(f"more-{number}"))]
        before = {one["allergen"]: one for one in child["avoids"]}
        avoids = [before.get(one, {"allergen": one, "threshold": THRESHOLD}) for one in dict.fromkeys(typed)]
        if avoids == child["avoids"]:
            continue
        for line in _lines(form.text(f"more-{number}")):
            see_known(form, f"more-{number}", line, viewer.language, UNKNOWN)
        if form.fault_of(f"more-{number}"):
            continue
        try:
            keep_parts(caller, CHILDREN, child["id"], form.text(f"version-{number}"), {"avoids": avoids})
        except ChangedMeanwhile:
            conflicts.append(child["nickname"])
        except (LunchError, ValidationError) as fault:
            form.with_faults(fault, {"/avoids": f"more-{number}"})
    if form.faults or conflicts:
        step = _avoids(viewer, all_of(caller, CHILDREN), form, conflicts)
        return page(request, viewer, "start/avoids.html", step, 409 if conflicts else 422)
    return go("/start/foods")


def _lines(text: str) -> list[str]:
    return [one.strip() for one in text.splitlines() if one.strip()]


@router.get("/start/foods")
def show_foods(request: Request, viewer: Parent, country: str = "") -> Response:
    """What is usually set out, with the foods ticked that are common in the country."""
    children = all_of(viewer.who(), CHILDREN)
    chosen = country if country in COUNTRIES else _jurisdiction(children)
    groups = _usual_foods(viewer, chosen)
    given = {f"food-{group['id']}": [one["food"] for one in group["foods"] if one["ticked"]] for group in groups}
    form = Form({**given, "set_out": ["yes"], "repeat": [uuid4().hex]})
    return page(request, viewer, "start/foods.html", _foods(viewer, chosen, form))


def _foods(viewer: Viewer, country: str, form: Form) -> FoodsStep:
    caller = viewer.who()
    kept = kept_now(caller)
    with caller.store.reading() as connection:
        name = free_name(connection, caller.household, text("start.offer-name", viewer.language))
    return FoodsStep(
        groups=groups_ticks(_usual_foods(viewer, country), _names(viewer, country), viewer.language),
        form=form,
        first=not all_of(caller, OFFERS),
        say_kept=kept is None,
        days=[day.isoformat() for day in _free_days(viewer)],
        name=form.text("name") or name,
        countries=[(one, text(f"start.country-{one.lower()}", viewer.language)) for one in COUNTRIES],
        country=country,
    )


def _usual_foods(viewer: Viewer, country: str) -> list[dict[str, Any]]:
    caller = viewer.who()
    with caller.store.reading() as connection:
        return usual_foods_for(connection, caller.household, country, today())


def _names(viewer: Viewer, country: str) -> dict[str, str]:
    return {group["id"]: text(f"start.group-{group['id']}", viewer.language) for group in usual_foods(country)}


def _free_days(viewer: Viewer) -> list[date]:
    """The coming school days of this week and the next on which nothing is set out yet."""
    caller, on = viewer.who(), today()
    days = [day for week in weeks_of(on) for day in week if day >= on]
    with caller.store.reading() as connection:
        taken = offers_by_day(connection, caller.household, on, days[-1])
    return [day for day in days if day not in taken]


@router.post("/start/foods")
def keep_foods(request: Request, viewer: Parent, form: SentForm) -> Response:
    """Make the offer, set it out on the school days that are free, keep how lunches are kept; then look at what follows."""
    caller = viewer.who()
    country = form.text("country") if form.text("country") in COUNTRIES else COUNTRIES[0]
    ticked = {group["id"]: form.texts(f"food-{group['id']}") for group in usual_foods(country)}
    days = _free_days(viewer) if form.text("set_out") else []

    def make(connection: Connection) -> str:
        name = form.text("name") or free_name(connection, caller.household, text("start.offer-name", viewer.language))
        body = first_offer(country, ticked, _names(viewer, country), name)
        if "packs" in form:
            edit_settings(connection, caller.household, to_json({"holding": holding_typed(form)}))
        kept = keep_record(connection, OFFERS, caller.household, read_asked(OFFERS, to_json(body)), None)
        set_out_on(connection, caller.household, str(kept.record.id), days, [])
        return str(kept.record.id)

    try:
        offer = make_once(caller, form, make)
    except (LunchError, ValidationError) as fault:
        form = form.with_faults(
            fault, {**FIELDS, "/name": "name", "/foods": "foods"}, name_taken(form.text("name"), viewer.language)
        )
        return page(request, viewer, "start/foods.html", _foods(viewer, country, form), 422)
    return go(f"/set-out/{offer}")
