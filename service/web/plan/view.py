"""What the list of plans, the form of a new one and the form of one day show."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from service.jobs.household.plan.edits import CHOICES, choice_of
from service.jobs.household.plan.standing import Standing
from service.jobs.household.plan.start import FREEZES, DishToMake, PlanStart
from service.jobs.household.plan.wanted import SUNDAY
from service.web.forms.form import Form
from service.web.language.chosen import text
from service.web.language.words import short_day, weekday
from service.web.plan.form import MOST_APART, MOST_BOUGHT, MOST_WEEKS, Span
from service.web.plan.names import plan_name

Option = tuple[str, str]
A_MONDAY = date(2024, 1, 1)
"""Any: only its days of the week are named."""


@dataclass(frozen=True)
class PlanRow:
    """A plan in the list: from when to when, and on how many school days."""

    id: str
    name: str
    first: str
    last: str
    days: int


@dataclass(frozen=True)
class PlansView:
    """The context of ``plan/plans.html``. ``now``: plans that are not over; ``over``: the others, the newest first."""

    now: list[PlanRow]
    over: list[PlanRow]
    may_change: bool


@dataclass(frozen=True)
class NewPlanView:
    """The context of ``plan/new.html``.

    ``can_make``: there are children and offers. ``cold_known``: the household has said how lunches are kept cold. ``not_planned``: dishes of which it is not known how long they keep, id and
    name. ``minutes``: a field for each dish, and its name. ``meals``: on how many of the days the school's meal is known.
    ``week``: the first of them.
    """

    form: Form
    can_make: bool
    cold_known: bool
    has_children: bool
    offers: list[Option]
    children: list[Option]
    dishes: list[Option]
    frozen: list[Option]
    not_planned: list[Option]
    minutes: list[Option]
    weeks: list[Option]
    prep: list[Option]
    off: list[Option]
    most: list[Option]
    numbers: list[Option]
    apart: list[Option]
    meals: int
    week: str


@dataclass(frozen=True)
class DayView:
    """The context of ``plan/day.html``. ``children``: field, nickname and what is chosen; ``meal``: the school's, or empty."""

    id: str
    version: int
    name: str
    date: str
    week: str
    locked: bool
    meal: str
    form: Form
    children: list[Option]
    choices: list[Option]


def plans_view(plans: Sequence[Mapping[str, Any]], on: date, language: str, *, may_change: bool) -> PlansView:
    """The list from stored plans."""
    rows = []
    for one in plans:
        days = sorted(one["asked"]["days"])
        name = plan_name(one["name"], days[0], days[-1], language)
        rows.append(PlanRow(one["id"], name, days[0], days[-1], len(days)))
    rows.sort(key=lambda one: (one.first, one.last))
    today = on.isoformat()
    over = [one for one in rows if one.last < today]
    return PlansView([one for one in rows if one.last >= today], over[::-1], may_change)


def prep_options(language: str) -> list[Option]:
    """The days of the week to make dishes on, Sunday first."""
    return [(str(day), weekday(A_MONDAY + timedelta(day), language)) for day in (SUNDAY, *range(SUNDAY))]


def new_view(start: PlanStart, form: Form, span: Span, language: str, *, cold_known: bool) -> NewPlanView:
    """The form from what there is."""
    planned = [one for one in start.dishes if one.fridge_days is not None]
    several = [str(number) for number in range(MOST_BOUGHT + 1)]
    meals = {one.date for one in start.school if one.menu is not None}
    year, week, _day = span.first.isocalendar()
    return NewPlanView(
        form=form,
        can_make=bool(start.children and start.offers),
        cold_known=cold_known,
        has_children=bool(start.children),
        offers=list(start.offers.items()),
        children=list(start.children.items()),
        dishes=[(one.food, _dish_words(one, language)) for one in planned],
        frozen=[(one.food, _frozen_words(one, language)) for one in planned if one.freezer_days],
        not_planned=[(one.food, one.name) for one in start.dishes if one.fridge_days is None],
        minutes=[(f"minutes-{one.food}", one.name) for one in planned],
        weeks=[(str(number), text("plans.weeks-n", language, n=number)) for number in range(1, MOST_WEEKS + 1)],
        prep=prep_options(language),
        off=[(day.isoformat(), short_day(day, language)) for day in span.days],
        most=[(f"most-{child}", name) for child, name in start.children.items()],
        numbers=[("0", text("plans.no-day", language)), *((one, one) for one in several[1:])],
        apart=[(str(number), text("plans.apart-n", language, n=number)) for number in range(MOST_APART + 1)],
        meals=len(meals & set(span.days)),
        week=f"{year}-W{week:02}",
    )


def day_view(plan: Standing, on: date, meal: str, form: Form | None, language: str) -> DayView:
    """One day of a plan as a form; ``meal``: what the school cooks, as far as it is known."""
    asked = plan.kept.asked
    choices = [choice_of(asked, place, on) for place in range(len(plan.names))]
    given = {"school": ["yes" if on in asked.days else "no"]}
    given |= {f"child-{place}": [one] for place, one in enumerate(choices)}
    year, week, _day = on.isocalendar()
    return DayView(
        plan.id,
        plan.version,
        plan_name(plan.kept.name, min(asked.days), max(asked.days), language),
        on.isoformat(),
        f"{year}-W{week:02}",
        on in plan.kept.locked.days,
        meal,
        Form(given) if form is None else form,
        [(f"child-{place}", name) for place, name in enumerate(plan.names)],
        [(one, text(f"plans.choice-{one}", language)) for one in CHOICES],
    )


def _dish_words(dish: DishToMake, language: str) -> str:
    return text("plans.dish", language, name=dish.name, portions=dish.batch_portions, fridge=dish.fridge_days or 0)


def _frozen_words(dish: DishToMake, language: str) -> str:
    level = "well" if dish.level in FREEZES else "badly" if dish.level else "unknown"
    return text(f"plans.freezes-{level}", language, name=dish.name, freezer=dish.freezer_days or 0)
