"""Labels for what a plan makes and for what is in the stock: chosen, then kept as a PDF."""

from fastapi import APIRouter, Request, Response
from pydantic import ValidationError

from service.domain.errors import LunchError
from service.jobs.household.from_plan.labels import ToLabel, labels_asked, what_to_label
from service.jobs.household.from_plan.planned import StoredPlan
from service.reference.messages import LANGUAGE, languages
from service.reference.plan.label_sheets import label_sheets
from service.web.care.downloads import file_to_keep
from service.web.devices.reach import reach_of
from service.web.forms.form import Form
from service.web.kitchen.labels_view import field_of, form_of_labels, labels_view
from service.web.kitchen.plan_at_hand import PlanHere, sheets_here
from service.web.language.chosen import text
from service.web.pages import page
from service.web.viewer import Packer, Viewer

router = APIRouter(include_in_schema=False)

PDF = "application/pdf"
FIELDS = {"/start": "start", "/sheet": "sheet"}


@router.get("/plans/{plan}/labels")
def show_labels(request: Request, viewer: Packer, there: PlanHere) -> Response:
    """The form: of what, how many, on which sheet."""
    found = _found(viewer, there)
    form = form_of_labels(found, next(iter(label_sheets())), viewer.language)
    return _page(request, viewer, there, found, form)


@router.get("/plans/{plan}/labels.pdf")
async def keep_labels(request: Request, viewer: Packer, there: PlanHere) -> Response:
    """The labels that were chosen, made where the API makes its own; the form again where something is wrong with it."""
    made: Response = await request.app.state.workers.weeks.run(_labels, request, viewer, there)
    return made


def _labels(request: Request, viewer: Viewer, there: StoredPlan) -> Response:
    from service.jobs.plan.labels.label_sheet import label_pdf, label_sheet  # it loads the fonts

    caller = viewer.who()
    found = _found(viewer, there)
    asked = request.query_params
    form = Form({name: asked.getlist(name) for name in asked})
    wanted = [(one, number) for one in found if (number := _number(form, field_of(one), viewer, empty=0))]
    start = _number(form, "start", viewer, empty=1)
    language = form.text("language") or viewer.language
    if language not in languages():
        form.wrong("language", text("kitchen.choose-language", viewer.language))
    if form.text("sheet") not in label_sheets():
        form.wrong("sheet", text("kitchen.choose-sheet", viewer.language))
    if not wanted and not form.faults:
        form.wrong("", text("kitchen.no-labels", viewer.language))
    if not form.faults:
        try:
            address = reach_of(request, request.app.state.settings).address
            with caller.store.reading() as connection:
                whole = labels_asked(connection, caller.household, there, wanted, form.text("sheet"), start, address)
            LANGUAGE.set(language)
            made = label_pdf(label_sheet(whole))
            return file_to_keep(made, "labels.pdf", PDF)
        except (LunchError, ValidationError) as fault:
            LANGUAGE.set(viewer.language)
            form.with_faults(fault, FIELDS)
    return _page(request, viewer, there, found, form, 422)


def _found(viewer: Viewer, plan: StoredPlan) -> list[ToLabel]:
    caller = viewer.who()
    with caller.store.reading() as connection:
        return what_to_label(connection, caller.household, plan)


def _number(form: Form, field: str, viewer: Viewer, empty: int) -> int:
    typed = form.text(field)
    if not typed:
        return empty
    if not (typed.isascii() and typed.isdecimal() and len(typed) <= 3):
        form.wrong(field, text("kitchen.whole-number", viewer.language, typed=typed))
        return empty
    return int(typed)


def _page(
    request: Request, viewer: Viewer, plan: StoredPlan, found: list[ToLabel], form: Form, status: int = 200
) -> Response:
    view = labels_view(sheets_here(plan, viewer.language), found, label_sheets(), languages(), form, viewer.language)
    return page(request, viewer, "kitchen/labels.html", view, status)
