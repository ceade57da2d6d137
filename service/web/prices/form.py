"""A price as a form, and back: money as a person writes it, with a comma or a point."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any
from uuid import uuid4

from babel.core import Locale
from babel.numbers import format_decimal

from service.domain.errors import AlreadyThere, LunchError
from service.jobs.household.requests import OWN_MEAL
from service.jobs.requests.fields import day_in
from service.jobs.weeks.cost_rows import decimals_of
from service.web.forms.form import Form
from service.web.forms.numbers import figure, number_in, number_of
from service.web.language.chosen import text

MEAL = "school_meal"
PLACES = {
    "/amount_minor": "amount",
    "/currency": "currency",
    "/pack_grams": "grams",
    "/from": "from",
    "/until": "until",
    "/what": "from",
    "/food": "amount",
}


def new_form(currency: str, on: date) -> Form:
    """The form for a new price, from today on in the currency used last."""
    return Form(
        {
            "repeat": [uuid4().hex],
            "amount": [""],
            "currency": [currency],
            "grams": [""],
            "from": [on.isoformat()],
            "until": [""],
        }
    )


def form_of(record: Mapping[str, Any], language: str) -> Form:
    """The form with what is kept."""
    digits = decimals_of(record["currency"])
    amount = Decimal(record["amount_minor"]) / 10**digits
    written = format_decimal(amount, f"0.{'0' * digits}" if digits else "0", locale=language)
    given = {"amount": written, "currency": record["currency"], "grams": figure(record["pack_grams"])}
    return Form(
        {name: [value] for name, value in given.items()} | {"from": [record["from"]], "until": [record["until"] or ""]}
    )


def parts_of(form: Form, what: str, language: str) -> dict[str, Any]:
    """The parts of the record that the form is about; ``what``: see ``what_of``. Faults are noted in the form."""
    currency = form.text("currency").upper()
    if currency not in Locale("en").currencies:
        form.wrong("currency", text("prices.give-currency", language))
        currency = ""
    parts: dict[str, Any] = {
        "what": MEAL if is_meal(what) else "food",
        "amount_minor": _minor(form, currency, language),
        "currency": currency,
        "from": _day(form, "from", language),
        "until": _day(form, "until", language) if form.text("until") else None,
    }
    if is_meal(what):
        parts["child"] = what.removeprefix(OWN_MEAL) if what != MEAL else None
    else:
        grams = number_in(form, "grams", language)
        if not grams and not form.fault_of("grams"):
            form.wrong("grams", text("prices.give-grams", language))
        parts |= {"food": what, "pack_grams": grams}
    return parts


def what_of(record: Mapping[str, Any]) -> str:
    """What a price is of: the id of a food, ``MEAL``, or ``OWN_MEAL`` with a child's id."""
    if record["what"] != MEAL:
        return str(record["food"])
    return MEAL if record["child"] is None else f"{OWN_MEAL}{record['child']}"


def is_meal(what: str) -> bool:
    """Whether it is the school's meal, for all children or for one."""
    return what == MEAL or what.startswith(OWN_MEAL)


def with_faults(form: Form, found: Any, language: str) -> Form:
    """The form with what the job found wrong."""
    if not isinstance(found, LunchError):
        return form.with_faults(found, PLACES)
    for one in found.faults():
        if isinstance(one, AlreadyThere):
            form.wrong("from", text("prices.there-already", language))
        else:
            form.with_faults(one, PLACES)
    return form


def said(form: Form, language: str) -> dict[str, str]:
    """What the form says, to set two versions side by side."""
    return {
        text(f"prices.{name}", language): form.text(name) for name in ("amount", "currency", "grams", "from", "until")
    }


def _minor(form: Form, currency: str, language: str) -> int | None:
    read = number_of(form.text("amount"), language)
    if read is None:
        form.wrong("amount", text("prices.give-amount", language))
        return None
    if not currency:
        return None
    minor = read * 10 ** decimals_of(currency)
    if minor != int(minor):
        form.wrong("amount", text("prices.too-fine", language, currency=currency, digits=decimals_of(currency)))
    return int(minor)


def _day(form: Form, field: str, language: str) -> str:
    typed = form.text(field)
    on = day_in(typed)
    if on is not None:
        return on.isoformat()
    form.wrong(field, text("prices.give-day", language))
    return typed
