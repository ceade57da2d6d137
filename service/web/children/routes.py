"""The children: listed, added, changed, removed."""

from collections.abc import Sequence
from typing import Any

from fastapi import APIRouter, Request, Response
from pydantic import ValidationError

from service.domain.errors import LunchError
from service.jobs.household.access.households import today
from service.jobs.household.children.child_in_words import child_in_words, dislikes_in_words, lunches_logged
from service.jobs.household.foods.search import household_foods_of_ids
from service.jobs.household.kinds import CHILDREN
from service.jobs.household.records import show_record
from service.jobs.household.requests import KeptChild
from service.web.children.form import form_of, new_form, parts_of, said, with_faults
from service.web.children.view import (
    ChildrenView,
    RemoveView,
    child_card,
    child_view,
    choices_of,
)
from service.web.forms.conflicts import conflict_between
from service.web.forms.form import Form, SentForm
from service.web.pages import go, page
from service.web.records import all_of, keep_once, keep_parts, one_of, take_away
from service.web.refusals import ChangedMeanwhile
from service.web.viewer import Packer, Parent, Viewer

router = APIRouter(include_in_schema=False)


@router.get("/children")
def show_children(request: Request, viewer: Packer) -> Response:
    """All children."""
    found = all_of(viewer.who(), CHILDREN)
    view = ChildrenView([child_card(one, viewer.language) for one in found])
    return page(request, viewer, "children/children.html", view)


@router.get("/children/new")
def show_new(request: Request, viewer: Parent) -> Response:
    """An empty form; the standard of the other children is chosen already."""
    others = all_of(viewer.who(), CHILDREN)
    form = new_form(others[-1]["standard"] if others else "")
    return page(request, viewer, "children/child.html", child_view(None, form, viewer.language))


@router.post("/children/new")
def keep_child(request: Request, viewer: Parent, form: SentForm) -> Response:
    """Keep a new child."""
    parts = parts_of(form, viewer.language, {})
    if not form.faults:
        try:
            return go(f"/children/{keep_once(viewer.who(), CHILDREN, form.text('repeat'), parts)}")
        except (LunchError, ValidationError) as found:
            with_faults(form, found, viewer.language)
    return page(request, viewer, "children/child.html", child_view(None, form, viewer.language), 422)


@router.get("/children/{child}")
def show_child(request: Request, viewer: Packer, child: str) -> Response:
    """A child, with what is understood of it."""
    record = one_of(viewer.who(), CHILDREN, child)
    form = form_of(record, _names(viewer, record["dislikes"]).__getitem__)
    view = child_view(record, form, viewer.language, understood=_understood(viewer, record))
    return page(request, viewer, "children/child.html", view)


@router.post("/children/{child}")
def change_child(request: Request, viewer: Parent, child: str, form: SentForm) -> Response:
    """Keep what was changed."""
    record = one_of(viewer.who(), CHILDREN, child)
    names = _names(viewer, record["dislikes"])
    ids = {name: one for one, name in names.items()}
    parts = parts_of(form, viewer.language, ids, record["age_group"])
    version, conflict = form.text("version"), None
    if not form.faults:
        try:
            keep_parts(viewer.who(), CHILDREN, child, version, parts)
            return go(f"/children/{child}")
        except ChangedMeanwhile as changed:
            theirs = form_of(changed.theirs, _names(viewer, changed.theirs["dislikes"]).__getitem__)
            conflict = conflict_between(
                _said(form, viewer), _said(theirs, viewer), changed.theirs["version"], f"/children/{child}"
            )
            version = conflict.version
        except (LunchError, ValidationError) as found:
            with_faults(form, found, viewer.language)
    view = child_view(record, form, viewer.language, conflict=conflict, version=version)
    return page(request, viewer, "children/child.html", view, 409 if conflict else 422)


@router.get("/children/{child}/remove")
def show_remove(request: Request, viewer: Parent, child: str) -> Response:
    """What goes with the child, and a button."""
    caller = viewer.who()
    record = one_of(caller, CHILDREN, child)
    with caller.store.reading() as connection:
        there = show_record(connection, CHILDREN, caller.household, child)
        lunches = lunches_logged(connection, caller.household, there.id)
    view = RemoveView(record["id"], record["nickname"], str(record["version"]), lunches)
    return page(request, viewer, "children/remove.html", view)


@router.post("/children/{child}/remove")
def remove_child(viewer: Parent, child: str, form: SentForm) -> Response:
    """Remove the child with its lunches; asked again where it was changed meanwhile."""
    try:
        take_away(viewer.who(), CHILDREN, child, form.text("version"))
    except ChangedMeanwhile:
        return go(f"/children/{child}/remove")
    return go("/children")


def _understood(viewer: Viewer, record: dict[str, Any]) -> dict[str, Any]:
    child = KeptChild.model_validate({name: value for name, value in record.items() if name in KeptChild.model_fields})
    caller = viewer.who()
    with caller.store.reading() as connection:
        dislikes = dislikes_in_words(connection, caller.household, child)
    names = _names(viewer, child.dislikes)
    said_of = [{**one, "words": names[one["words"]]} for one in dislikes]
    return {**child_in_words(child, today()), "dislikes": said_of}


def _names(viewer: Viewer, dislikes: Sequence[str]) -> dict[str, str]:
    """What is disliked as it is shown: foods by their names, words as they are."""
    caller = viewer.who()
    with caller.store.reading() as connection:
        foods = household_foods_of_ids(connection, caller.household, dislikes)["items"]
    names = {food["id"]: food["name"] for food in foods}
    return {one: names.get(one, one) for one in dislikes}


def _said(form: Form, viewer: Viewer) -> dict[str, str]:
    words = choices_of(form.text("standard"), form.text("year"), viewer.language).words()
    return said(form, viewer.language, words)
