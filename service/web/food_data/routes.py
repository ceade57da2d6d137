"""The page on which a household sees where packets are looked up, and switches the live source on and off."""

from fastapi import APIRouter, Request, Response

from service.domain.errors import AnyFault, LunchError
from service.jobs.household.branded.live_source import live_source_state, switch_off, switch_on
from service.jobs.household.branded.look_up import index_release
from service.web.food_data.view import FoodDataView
from service.web.forms.form import Form, SentForm
from service.web.pages import go, page
from service.web.viewer import Parent, Viewer

router = APIRouter(include_in_schema=False)

PAGE = "/food-data"


@router.get(PAGE)
def show_food_data(request: Request, viewer: Parent) -> Response:
    """Whether there is a copy on this machine, and whether the live source is on."""
    return _food_data(request, viewer, Form())


@router.post(f"{PAGE}/live")
def switch_live_source_on(request: Request, viewer: Parent, form: SentForm) -> Response:
    """Switch the live source on with the household's own key, or take another key. What was typed is never shown again."""
    caller = viewer.who()
    try:
        with caller.store.writing() as connection:
            switch_on(connection, caller.household, form.text("api_key"))
    except LunchError as fault:
        return _food_data(request, viewer, Form({"api_key": [""]}).with_faults(fault), 422)
    return go(PAGE)


@router.post(f"{PAGE}/live/off")
def switch_live_source_off(viewer: Parent, _form: SentForm) -> Response:
    """Switch the live source off and delete the key."""
    caller = viewer.who()
    with caller.store.writing() as connection:
        switch_off(connection, caller.household)
    return go(PAGE)


def _food_data(request: Request, viewer: Viewer, form: Form, status: int = 200) -> Response:
    caller, release, wrong = viewer.who(), "", ""
    try:
        release = index_release(request.app.state.settings.branded_foods_file)
    except AnyFault as fault:
        wrong = Form().with_faults(fault).faults[0].sentence
    with caller.store.reading() as connection:
        state = live_source_state(connection, caller.household)
    view = FoodDataView(form=form, release=release, index_wrong=wrong, since=(state["since"] or "")[:10])
    return page(request, viewer, "food_data/food_data.html", view, status)
