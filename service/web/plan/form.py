"""The form of a new plan: what it starts with, and what a person typed made into what is wanted."""

from datetime import date, timedelta
from typing import NamedTuple
from uuid import uuid4

from service.jobs.household.plan.start import PlanStart
from service.jobs.household.plan.wanted import PlanWanted, school_days_from, usually_wanted
from service.jobs.requests.fields import day_in
from service.web.forms.form import Form
from service.web.forms.numbers import number_in
from service.web.language.chosen import text
from service.web.language.words import short_day

MOST_WEEKS, MOST_BOUGHT, MOST_APART = 4, 5, 5
A_DAY = 24 * 60
WAYS, AMOUNTS = ("offers", "lunches"), ("always", "usual")
FIELDS = {
    "/days": "from",
    "/prep_days": "prep",
    "/offers": "offers",
    "/children": "children",
    "/dishes": "dishes",
    "/stock": "dishes",
    "/name": "name",
    "/no_repeat_days": "apart",
    "/buying": "children",
}


class Span(NamedTuple):
    """The days that a form speaks of: from a day, so many weeks."""

    first: date
    weeks: int

    @property
    def days(self) -> list[date]:
        """Monday to Friday of them."""
        return school_days_from(self.first, self.weeks)


def next_monday(on: date) -> date:
    """The Monday after a day.

    >>> next_monday(date(2026, 11, 29)).isoformat(), next_monday(date(2026, 11, 30)).isoformat()
    ('2026-11-30', '2026-12-07')
    """
    return on + timedelta(days=7 - on.weekday())


def span_of(form: Form, on: date) -> Span:
    """The days that were typed; where they cannot be read, those that a new form starts with."""
    first = day_in(form.text("from"))
    return Span(next_monday(on) if first is None else first, _whole(form, "weeks", 1, MOST_WEEKS) or 1)


def new_form(start: PlanStart, on: date) -> Form:
    """The form as it starts: so that one press gives a plan."""
    usual = usually_wanted(start, "", [], list(start.offers))
    given = {
        "repeat": [uuid4().hex],
        "from": [next_monday(on).isoformat()],
        "weeks": ["1"],
        "prep": [str(day) for day in usual.prep_on],
        "offers": list(usual.offers),
        "children": list(usual.children),
        "dishes": list(usual.dishes),
        "frozen": list(usual.frozen),
        "way": [usual.way],
        "amounts": [usual.amounts],
        "apart": [str(usual.no_repeat_days)],
    }
    return Form(given | {f"most-{child}": [str(number)] for child, number in usual.most.items()})


def wanted_of(form: Form, start: PlanStart, on: date, language: str) -> PlanWanted:
    """What the form wants; faults are noted in it."""
    first, weeks = day_in(form.text("from")), _whole(form, "weeks", 1, MOST_WEEKS)
    if first is None:
        form.wrong("from", text("plans.give-day", language))
    elif first < on:
        form.wrong("from", text("plans.give-day-to-come", language, today=short_day(on, language)))
    if weeks is None:
        form.wrong("weeks", text("plans.give-weeks", language, most=MOST_WEEKS))
    days = [] if first is None or weeks is None else school_days_from(first, weeks)
    left = [day for day in days if day.isoformat() not in form.texts("off")]
    if days and not left:
        form.wrong("off", text("plans.give-school-day", language))
    offers, children = _known(form, "offers", start.offers), _known(form, "children", start.children)
    if not offers:
        form.wrong("offers", text("plans.give-offer", language))
    if not children:
        form.wrong("children", text("plans.give-child", language))
    return PlanWanted(
        name=form.text("name"),
        way=_one_of(form, "way", WAYS, language),
        amounts=_one_of(form, "amounts", AMOUNTS, language),
        days=left,
        prep_on=prep_on(form),
        offers=offers,
        children=children,
        dishes={
            one.food: _minutes(form, f"minutes-{one.food}", language)
            for one in start.dishes
            if one.food in form.texts("dishes")
        },
        frozen=form.texts("frozen"),
        most={child: _number(form, f"most-{child}", MOST_BOUGHT, language) for child in children},
        no_repeat_days=_number(form, "apart", MOST_APART, language),
    )


def prep_on(form: Form) -> list[int]:
    """The days of the week that are ticked, Monday is 0."""
    return [day for day in range(7) if str(day) in form.texts("prep")]


def _known(form: Form, field: str, there: dict[str, str]) -> list[str]:
    return [one for one in there if one in form.texts(field)]


def _one_of(form: Form, field: str, known: tuple[str, ...], language: str) -> str:
    chosen = form.text(field) or known[0]
    if chosen not in known:
        form.wrong(field, text("plans.choose", language))
    return chosen


def _whole(form: Form, field: str, least: int, most: int) -> int | None:
    """A whole number that was chosen; None for a text that is none of them."""
    typed = form.text(field)
    return int(typed) if typed.isascii() and typed.isdigit() and least <= int(typed) <= most else None


def _number(form: Form, field: str, most: int, language: str) -> int:
    found = _whole(form, field, 0, most) if form.text(field) else 0
    if found is None:
        form.wrong(field, text("plans.choose", language))
    return found or 0


def _minutes(form: Form, field: str, language: str) -> int | None:
    typed = number_in(form, field, language)
    if typed is None:
        return None
    if typed != int(typed) or typed > A_DAY:
        form.wrong(field, text("plans.give-minutes", language))
        return None
    return int(typed)
