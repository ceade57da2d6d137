"""Bring in a recipe: paste its lines or choose a saved page, answer line by line what is asked, and keep it as a dish.

Nothing is kept before "save": the lines go along in the form, and the job reads them again with the answers.
"""

from typing import Any

from fastapi import APIRouter, Request, Response
from pydantic import ValidationError

from service.domain.errors import LunchError
from service.jobs.household.foods.brought_in import read_recipe_of_household
from service.jobs.household.kinds import RECIPES
from service.jobs.recipes.from_file import reading_request
from service.jobs.recipes.requests import RecipeReadingRequest
from service.web.dishes.bring_in_form import body_to_keep, form_of_reading, form_to_begin, request_of
from service.web.dishes.form import with_faults
from service.web.dishes.view import BringInView, ReadView, line_rows
from service.web.forms.form import Form, SentForm
from service.web.pages import go, page
from service.web.records import keep_once
from service.web.viewer import Parent, Viewer

router = APIRouter(include_in_schema=False)

SAVE = "save"
BEGIN, READ = "dishes/bring-in.html", "dishes/read.html"


@router.get("/dishes/bring-in")
def show_bring_in(request: Request, viewer: Parent) -> Response:
    """A form for lines or a file."""
    return page(request, viewer, BEGIN, BringInView(form_to_begin()))


@router.post("/dishes/bring-in")
def read_brought_in(request: Request, viewer: Parent, form: SentForm) -> Response:
    """Read the recipe and show its lines; nothing is kept."""
    try:
        reading = _reading(viewer, _given(form))
    except (LunchError, ValidationError) as found:
        form.with_faults(found, {"/text": "lines", "/html": "file", "/document": "file", "FILE": "file"})
        return page(request, viewer, BEGIN, BringInView(form), 422)
    return page(request, viewer, READ, _view(form_of_reading(reading), reading))


@router.post("/dishes/bring-in/lines")
def answer_lines(request: Request, viewer: Parent, form: SentForm) -> Response:
    """Read the lines again with the answers, or keep the dish."""
    try:
        reading = _reading(viewer, request_of(form, viewer.language))
    except (LunchError, ValidationError) as found:
        form.with_faults(found, {"/text": "lines"})
        return page(request, viewer, BEGIN, BringInView(form), 422)
    again = form_of_reading(reading, form)
    again.faults += form.faults
    if form.text("do") != SAVE:
        return page(request, viewer, READ, _view(again, reading), 422 if again.faults else 200)
    body = body_to_keep(again, reading, viewer.language)
    if not again.faults:
        try:
            return go(f"/dishes/{keep_once(viewer.who(), RECIPES, again.text('repeat'), body)}")
        except (LunchError, ValidationError) as found:
            with_faults(again, found, viewer.language)
    return page(request, viewer, READ, _view(again, reading), 422)


def _given(form: Form) -> RecipeReadingRequest:
    """What is asked of the job with a file, or with pasted lines where no file was chosen."""
    country = form.text("country") or None
    sent = form.files.get("file")
    if sent is not None:
        with sent.file as opened:
            content: bytes = opened.read()
        if content:
            return reading_request(content, country=country)
    return RecipeReadingRequest(text=form.text("lines"), country=country)


def _reading(viewer: Viewer, asked: RecipeReadingRequest) -> dict[str, Any]:
    caller = viewer.who()
    return read_recipe_of_household(caller.store, caller.household, asked)


def _view(form: Form, reading: dict[str, Any]) -> ReadView:
    return ReadView(
        form,
        line_rows(reading["lines"]),
        reading["to_answer"],
        [one["sentence"] for one in reading["notes"] if one["code"] != "recipe-note.no-portions"],
    )
