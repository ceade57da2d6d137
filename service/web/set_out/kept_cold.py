"""How lunches are kept until they are eaten: asked once, in the first steps or where an offer is looked at."""

from typing import Any

from pydantic_core import to_json

from service.domain.errors import BadInput
from service.domain.messages import Message, message
from service.jobs.household.access.opened import Caller
from service.jobs.household.settings import edit_settings, settings_of
from service.jobs.requests.lunches import HoldingConditions
from service.reference.messages import LANGUAGE
from service.web.forms.form import Form
from service.web.forms.numbers import number_of
from service.web.language.chosen import page_message
from service.web.set_out.forms import number

MINUTES = 60
A_DAY = 24
"""Hours; as long as a request may say in minutes."""
FIELDS = {
    "/holding/insulated": "insulated",
    "/holding/cold_sources": "packs",
    "/holding/minutes_until_eaten": "hours",
    "/holding": "insulated",
}
"""The places of the settings, and the fields they are typed in."""


def kept_said(kept: HoldingConditions | None) -> Message | None:
    """How lunches are kept, in words; None where nothing has been said of it."""
    if kept is None or kept.insulated is None:
        return None
    bag = page_message("set-out.kept-insulated" if kept.insulated else "set-out.kept-open")
    if kept.cold_sources is None or kept.minutes_until_eaten is None:
        return bag
    hours = round(kept.minutes_until_eaten / MINUTES, 1)
    return page_message("set-out.kept", bag=bag, packs=kept.cold_sources, hours=hours)


def kept_form(kept: HoldingConditions | None) -> Form:
    """The form as it is filled in."""
    if kept is None:
        return Form()
    given: dict[str, list[str]] = {}
    if kept.insulated is not None:
        given["insulated"] = ["yes" if kept.insulated else "no"]
    if kept.cold_sources is not None:
        given["packs"] = [str(kept.cold_sources)]
    if kept.minutes_until_eaten is not None:
        given["hours"] = [f"{kept.minutes_until_eaten / MINUTES:g}"]
    return Form(given)


def kept_now(caller: Caller) -> HoldingConditions | None:
    """How the household keeps its lunches, as it has said."""
    with caller.store.reading() as connection:
        return settings_of(connection, caller.household).holding


def holding_typed(form: Form) -> dict[str, Any]:
    """What the form says, as the settings hold it; a field that is empty is not known."""
    insulated = {"yes": True, "no": False}.get(form.text("insulated"))
    packs = _packs(form)
    hours = number(form, "hours") if form.text("hours") else None
    if hours is not None and hours > A_DAY:
        raise BadInput(field="hours", value=form.text("hours"), problem=message("fault.too-many-hours", most=A_DAY))
    return {
        "insulated": insulated,
        "cold_sources": packs,
        "minutes_until_eaten": None if hours is None else round(hours * MINUTES),
    }


def _packs(form: Form) -> int | None:
    """How many cold packs: whole ones, and none is a number of them too."""
    typed = form.text("packs")
    if not typed:
        return None
    packs = number_of(typed, LANGUAGE.get())
    if packs is None or packs != int(packs):
        raise BadInput(field="packs", value=typed, problem=message("fault.no-whole-packs"))
    return int(packs)


def keep_holding(caller: Caller, form: Form) -> None:
    """Store what the form says; ``LunchError`` or ``ValidationError`` for what is wrong with it."""
    typed = holding_typed(form)
    with caller.store.writing() as connection:
        edit_settings(connection, caller.household, to_json({"holding": typed}))
