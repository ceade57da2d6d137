"""Foods: searched, shown; own ones added from their labels, changed, removed."""

from typing import Annotated, Any
from urllib.parse import urlencode
from uuid import uuid4

from fastapi import APIRouter, Query, Request, Response
from pydantic import ValidationError
from starlette.exceptions import HTTPException

from service.domain.errors import LunchError, UnknownName
from service.jobs.household.access.households import today
from service.jobs.household.foods.own_foods import food_as_known, measures_of
from service.jobs.household.foods.search import search_household_foods
from service.jobs.household.kinds import FOODS
from service.jobs.requests.fields import is_kept_id
from service.reference.foods.pictures import picture_of
from service.web.foods.form import form_of, parts_of, said, with_faults
from service.web.foods.remove import ask_to_remove, removed
from service.web.foods.shown import Comes, comes_to, food_row
from service.web.foods.view import FoodsView, TableFoodView, choices_of, food_view
from service.web.forms.conflicts import conflict_between
from service.web.forms.form import Form, SentForm
from service.web.pages import go, page
from service.web.records import all_of, keep_once, keep_parts, one_of
from service.web.refusals import ChangedMeanwhile
from service.web.viewer import Packer, Parent, Viewer

router = APIRouter(include_in_schema=False)

SHOWN = 24
Asked = Annotated[str, Query(max_length=100)]


@router.get("/foods")
def show_foods(request: Request, viewer: Packer, q: Asked = "", after: Asked = "") -> Response:
    """What was searched for; without words, the household's own foods."""
    caller = viewer.who()
    if not q.strip():
        own = [{**one, "kind": "own_food", "category": "label"} for one in all_of(caller, FOODS)]
        view = FoodsView("", [food_row(one, viewer.language, among_own=True) for one in own], "")
    else:
        with caller.store.reading() as connection:
            found = search_household_foods(connection, caller.household, q, SHOWN, after or None)
        rows = [food_row(one, viewer.language) for one in found["items"]]
        more = "" if found["next"] is None else f"/foods?{urlencode({'q': q, 'after': found['next']})}"
        view = FoodsView(q, rows, more)
    return page(request, viewer, "foods/foods.html", view)


@router.get("/foods/new")
def show_new(request: Request, viewer: Parent, name: Asked = "") -> Response:
    """An empty form for what stands on a label."""
    form = Form({"name": [name], "repeat": [uuid4().hex]})
    return page(request, viewer, "foods/food.html", food_view(None, form, viewer.language, picture_of(name)))


@router.post("/foods/new")
def keep_food(request: Request, viewer: Parent, form: SentForm) -> Response:
    """Keep a new food."""
    parts = parts_of(form, viewer.language)
    if not form.faults:
        try:
            return go(f"/foods/{keep_once(viewer.who(), FOODS, form.text('repeat'), parts)}")
        except (LunchError, ValidationError) as found:
            with_faults(form, found, viewer.language)
    view = food_view(None, form, viewer.language, picture_of(form.text("name")))
    return page(request, viewer, "foods/food.html", view, 422)


@router.get("/foods/{food}")
def show_food(request: Request, viewer: Packer, food: str) -> Response:
    """An own food with its label; one of the tables with what it comes to."""
    if not is_kept_id(food):
        return page(request, viewer, "foods/table_food.html", _table_food(viewer, food))
    record = one_of(viewer.who(), FOODS, food)
    view = _own_food(viewer, record, _form_of(viewer, record), comes=_comes(viewer, food))
    return page(request, viewer, "foods/food.html", view)


@router.post("/foods/{food}")
def change_food(request: Request, viewer: Parent, food: str, form: SentForm) -> Response:
    """Keep what was changed."""
    record = one_of(viewer.who(), FOODS, food)
    parts = parts_of(form, viewer.language)
    version, conflict = form.text("version"), None
    if not form.faults:
        try:
            keep_parts(viewer.who(), FOODS, food, version, parts)
            return go(f"/foods/{food}")
        except ChangedMeanwhile as changed:
            theirs = _form_of(viewer, changed.theirs)
            now = changed.theirs["version"]
            conflict = conflict_between(_said(form, viewer), _said(theirs, viewer), now, f"/foods/{food}")
            version = conflict.version
        except (LunchError, ValidationError) as found:
            with_faults(form, found, viewer.language)
    view = _own_food(viewer, record, form, conflict=conflict, version=version)
    return page(request, viewer, "foods/food.html", view, 409 if conflict else 422)


@router.get("/foods/{food}/remove")
def show_remove(request: Request, viewer: Parent, food: str) -> Response:
    """A question, and a button."""
    return ask_to_remove(request, viewer, FOODS, food, "/foods")


@router.post("/foods/{food}/remove")
def remove_food(request: Request, viewer: Parent, food: str, form: SentForm) -> Response:
    """Remove it, unless something names it."""
    return removed(request, viewer, FOODS, food, form.text("version"), "/foods")


def _comes(viewer: Viewer, food: str) -> Comes:
    caller = viewer.who()
    with caller.store.reading() as connection:
        return comes_to(food_as_known(connection, caller.household, food, today()), "own", viewer.language)


def _table_food(viewer: Viewer, food: str) -> TableFoodView:
    caller = viewer.who()
    with caller.store.reading() as connection:
        try:
            known = food_as_known(connection, caller.household, food, today())
        except UnknownName as fault:
            raise HTTPException(404) from fault
    picture = picture_of(known["name"], known["category"])
    return TableFoodView(food, known["name"], picture, comes_to(known, "table", viewer.language))


def _form_of(viewer: Viewer, record: dict[str, Any]) -> Form:
    caller = viewer.who()
    with caller.store.reading() as connection:
        like = measures_of(connection, caller.household, [record["counts_as"]]) if record["counts_as"] else {}
    return form_of(record, like[record["counts_as"]]["name"] if like else "")


def _own_food(viewer: Viewer, record: dict[str, Any], form: Form, **more: Any) -> Any:
    return food_view(record, form, viewer.language, picture_of(record["name"]), **more)


def _said(form: Form, viewer: Viewer) -> dict[str, str]:
    return said(form, viewer.language, choices_of(form, viewer.language).words())
