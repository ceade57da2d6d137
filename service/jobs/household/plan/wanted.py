"""What a person wants of a new plan, made into a request with what the household has stored."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from service.jobs.household.offers.set_out import SCHOOL_DAYS_A_WEEK, school_day_from, weeks_of
from service.jobs.household.plan.start import PlanStart, most_a_week, stock_for, wishes_of
from service.jobs.plan.weeks.requests import PlanWithIds
from service.store.household.records import Connection

BEFORE = 7
"""Days before the first school day on which dishes may be made."""
SUNDAY = 6
SCHOOL_DAYS_APART = 2
"""Between two days of the same offer, where there are several to choose from."""
SECONDS = 5.0
"""How long is looked for lunches; a person waits for it."""


@dataclass(frozen=True)
class PlanWanted:
    """What a person chose.

    ``name``: empty for a plan that is named by its days. ``prep_on``: days of the week, Monday is 0. ``dishes``: ids to the minutes a batch takes, None where it was not said;
    ``frozen``: those of them that may be frozen.
    ``most``: on how many days of a week a child may buy, by id; a child that may not is left out.
    """

    name: str
    way: str
    amounts: str
    days: Sequence[date]
    prep_on: Sequence[int]
    offers: Sequence[str]
    children: Sequence[str]
    dishes: Mapping[str, int | None]
    frozen: Sequence[str]
    most: Mapping[str, int]
    no_repeat_days: int


def usually_wanted(start: PlanStart, name: str, days: Sequence[date], offers: Sequence[str]) -> PlanWanted:
    """What is wanted where a person changes nothing: every child, and all dishes made on Sundays, frozen as far as they may be."""
    return PlanWanted(
        name=name,
        way="offers",
        amounts="always",
        days=days,
        prep_on=[SUNDAY],
        offers=offers,
        children=list(start.children),
        dishes={one.food: None for one in start.dishes if one.fridge_days is not None},
        frozen=[one.food for one in start.dishes if one.freezes],
        most={child: min(SCHOOL_DAYS_A_WEEK, most_a_week(start, child)) for child in start.children},
        no_repeat_days=SCHOOL_DAYS_APART if len(offers) > 1 else 0,
    )


def school_days_from(first: date, weeks: int) -> list[date]:
    """Monday to Friday from a day on, for as many weeks as there are Mondays' weeks in it.

    >>> [day.isoformat() for day in school_days_from(date(2026, 12, 2), 1)]
    ['2026-12-02', '2026-12-03', '2026-12-04']
    >>> len(school_days_from(date(2026, 12, 5), 2)), school_days_from(date(2026, 12, 5), 2)[0].isoformat()
    (10, '2026-12-07')
    """
    return [day for week in weeks_of(school_day_from(first), weeks) for day in week if day >= first]


def prep_days_for(days: Sequence[date], prep_on: Sequence[int], today: date) -> list[date]:
    """The days of the week wanted, from a week before the first school day to the one before the last; none that is past."""
    if not days:
        return []
    first = max(today, min(days) - timedelta(days=BEFORE))
    every = (first + timedelta(days=number) for number in range((max(days) - first).days))
    return [day for day in every if day.weekday() in prep_on]


def plan_wanted(
    connection: Connection, household: UUID, start: PlanStart, wanted: PlanWanted, today: date
) -> PlanWithIds:
    """The request of a plan; ``ValidationError`` for what does not fit."""
    dishes = {one.food: one for one in start.dishes}
    foods = frozenset().union(*(start.in_offers.get(one, frozenset()) for one in wanted.offers))
    buying = [
        {
            "child": place,
            "most_a_week": wanted.most[child],
            "wishes": [day for day in wishes_of(start, child) if day in wanted.days],
        }
        for place, child in enumerate(wanted.children)
        if wanted.most.get(child)
    ]
    asked: dict[str, Any] = {
        "name": wanted.name or None,
        "way": wanted.way,
        "amounts": wanted.amounts,
        "days": list(wanted.days),
        "prep_days": prep_days_for(wanted.days, wanted.prep_on, today),
        "offers": [{"id": start.offers.get(one, one), "offer": one} for one in wanted.offers],
        "children": list(wanted.children),
        "no_repeat_days": wanted.no_repeat_days,
        "dishes": [
            {
                "food": one,
                "parts": dishes[one].parts,
                "fridge_days": dishes[one].fridge_days,
                "freezer_days": dishes[one].freezer_days if one in wanted.frozen else None,
                "minutes": minutes,
            }
            for one, minutes in wanted.dishes.items()
            if one in dishes and dishes[one].fridge_days is not None and one in foods
        ],
        "stock": list(stock_for(connection, household, foods, today, min(wanted.days, default=today))),
        "school_meals": [
            {"date": one.date, "menu": one.menu.model_dump()}
            for one in start.school
            if one.menu is not None and one.date in wanted.days
        ],
        "buying": buying,
        "seconds": SECONDS,
    }
    return PlanWithIds.model_validate(asked, strict=False)
