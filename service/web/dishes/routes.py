"""Dishes: listed, put together from ingredients, changed, removed.

One form holds a dish: "find" and "add" show it again with what was found or added, and nothing is kept before "save".
"""

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from pydantic import ValidationError

from service.domain.errors import LunchError
from service.jobs.household.access.households import today
from service.jobs.household.foods.own_foods import food_as_known, measures_of
from service.jobs.household.foods.search import search_household_foods
from service.jobs.household.kinds import RECIPES
from service.reference.foods.search import fold
from service.web.dishes.form import foods_in, form_of, new_form, parts_of, rows_of, said, with_faults, with_row
from service.web.dishes.view import DishesView, DishView, ingredient_rows
from service.web.foods.remove import ask_to_remove, removed
from service.web.foods.shown import comes_to, food_row
from service.web.forms.conflicts import conflict_between
from service.web.forms.form import Form, SentForm
from service.web.pages import go, page
from service.web.records import all_of, keep_once, keep_parts, one_of
from service.web.refusals import ChangedMeanwhile
from service.web.viewer import Packer, Parent, Viewer

router = APIRouter(include_in_schema=False)

SHOWN = 12
TEMPLATE = "dishes/dish.html"
SAVE, ADD = "save", "add:"
"""What the buttons of the form ask for; any other searches."""


@router.get("/dishes")
def show_dishes(request: Request, viewer: Packer, q: Annotated[str, Query(max_length=100)] = "") -> Response:
    """The household's own dishes, or those of them whose name holds the words."""
    found = [
        {**one, "kind": "own_recipe", "category": "recipe"}
        for one in all_of(viewer.who(), RECIPES)
        if all(word in fold(one["name"]) for word in fold(q).split())
    ]
    view = DishesView(q, [food_row(one, viewer.language, among_own=True) for one in found])
    return page(request, viewer, "dishes/dishes.html", view)


@router.get("/dishes/new")
def show_new(request: Request, viewer: Parent) -> Response:
    """An empty form."""
    return page(request, viewer, TEMPLATE, _view(viewer, None, new_form()))


@router.post("/dishes/new")
def keep_dish(request: Request, viewer: Parent, form: SentForm) -> Response:
    """Search, add, or keep the new dish."""
    if form.text("do") != SAVE:
        return page(request, viewer, TEMPLATE, _searched(viewer, None, form))
    parts = parts_of(form, viewer.language, _known(viewer, form))
    if not form.faults:
        try:
            return go(f"/dishes/{keep_once(viewer.who(), RECIPES, form.text('repeat'), parts)}")
        except (LunchError, ValidationError) as found:
            with_faults(form, found, viewer.language)
    return page(request, viewer, TEMPLATE, _view(viewer, None, form), 422)


@router.get("/dishes/{dish}")
def show_dish(request: Request, viewer: Packer, dish: str) -> Response:
    """A dish with what a portion comes to."""
    record = one_of(viewer.who(), RECIPES, dish)
    caller = viewer.who()
    with caller.store.reading() as connection:
        comes = comes_to(food_as_known(connection, caller.household, dish, today()), "dish", viewer.language)
    return page(request, viewer, TEMPLATE, _view(viewer, record, form_of(record), comes=comes))


@router.post("/dishes/{dish}")
def change_dish(request: Request, viewer: Parent, dish: str, form: SentForm) -> Response:
    """Search, add, or keep what was changed."""
    record = one_of(viewer.who(), RECIPES, dish)
    version, conflict = form.text("version"), None
    if form.text("do") != SAVE:
        return page(request, viewer, TEMPLATE, _searched(viewer, record, form, version=version))
    parts = parts_of(form, viewer.language, _known(viewer, form), record)
    if not form.faults:
        try:
            keep_parts(viewer.who(), RECIPES, dish, version, parts)
            return go(f"/dishes/{dish}")
        except ChangedMeanwhile as changed:
            theirs, now = form_of(changed.theirs), changed.theirs["version"]
            conflict = conflict_between(_said(viewer, form), _said(viewer, theirs), now, f"/dishes/{dish}")
            version = conflict.version
        except (LunchError, ValidationError) as found:
            with_faults(form, found, viewer.language)
    view = _view(viewer, record, form, conflict=conflict, version=version)
    return page(request, viewer, TEMPLATE, view, 409 if conflict else 422)


@router.get("/dishes/{dish}/remove")
def show_remove(request: Request, viewer: Parent, dish: str) -> Response:
    """A question, and a button."""
    return ask_to_remove(request, viewer, RECIPES, dish, "/dishes")


@router.post("/dishes/{dish}/remove")
def remove_dish(request: Request, viewer: Parent, dish: str, form: SentForm) -> Response:
    """Remove it, unless something names it."""
    return removed(request, viewer, RECIPES, dish, form.text("version"), "/dishes")


def _searched(viewer: Viewer, record: dict[str, Any] | None, form: Form, **more: Any) -> DishView:
    """The form again, with the foods found, or with the one that was added."""
    asked = form.text("do")
    if asked.startswith(ADD):
        food = asked.removeprefix(ADD)
        return _view(viewer, record, with_row(form, food, _known(viewer, form, food)), **more)
    words, found = form.text("search"), []
    if words:
        caller = viewer.who()
        with caller.store.reading() as connection:
            rows = search_household_foods(connection, caller.household, words[:100], SHOWN, None)["items"]
        found = [food_row(one, viewer.language) for one in rows if one["kind"] != "own_recipe"]
    return _view(viewer, record, form, asked=words, found=found, **more)


def _view(viewer: Viewer, record: dict[str, Any] | None, form: Form, **more: Any) -> DishView:
    kept = record or {"id": "", "name": "", "version": ""}
    more.setdefault("version", str(kept["version"]))
    rows = ingredient_rows(rows_of(form, _known(viewer, form)))
    return DishView(kept["id"], kept["name"], form=form, rows=rows, from_address=kept.get("from_address", ""), **more)


def _known(viewer: Viewer, form: Form, *besides: str) -> dict[str, dict[str, Any]]:
    caller = viewer.who()
    with caller.store.reading() as connection:
        return measures_of(connection, caller.household, [*foods_in(form), *besides])


def _said(viewer: Viewer, form: Form) -> dict[str, str]:
    return said(form, viewer.language, _known(viewer, form))
