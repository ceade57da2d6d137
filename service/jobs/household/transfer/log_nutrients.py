"""The nutrients of logged lunches: worked out anew from what each was judged by, as its week does; no sums are stored."""

from typing import Any, NamedTuple

from service.domain.errors import LunchError, at
from service.domain.foods.amounts import add_up
from service.domain.measures import MEASURES, NUTRIENT_COUNT
from service.domain.messages import message
from service.jobs.foods.packets import resolve_packets
from service.jobs.household.lunch.judged_by import day_as_logged
from service.jobs.household.requests import KeptLunch
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.household.stored.resolving import foods_resolved
from service.jobs.lunch.reply import totals_rows
from service.jobs.tables.data_package.tables import Column
from service.jobs.weeks.days import DayOfWeek, day_alone
from service.jobs.weeks.requests import WeekDayAsked
from service.reference.fault_words import fault_sentences

NUTRIENTS = MEASURES[:NUTRIENT_COUNT]

Figures = dict[str, float | None]
"""By column; None where nothing is known."""


class LunchNutrients(NamedTuple):
    """The nutrients of a logged lunch.

    ``packed``: of all that was packed or bought, empty where there are no figures. ``eaten``: without what came back; None
    where nobody noted that. ``why_none``: sentences on what could not be worked out, and what to do.
    """

    packed: Figures
    eaten: Figures | None
    why_none: list[str]


def nutrient_columns(*, eaten: bool) -> list[Column]:
    """Three columns a nutrient, of what was eaten or of all that was packed: the amount, the least and the most it can be."""
    columns = []
    for one in NUTRIENTS:
        about = (
            message("data-column.nutrient-eaten", label=one.label)
            if eaten
            else message("data-column.nutrient", label=one.label)
        )
        columns += [
            Column(one.id, "number", about, one.unit),
            Column(f"{one.id}_low", "number", message("data-column.nutrient-low", label=one.label), one.unit),
            Column(f"{one.id}_high", "number", message("data-column.nutrient-high", label=one.label), one.unit),
        ]
    return columns


def nutrients_of(kept: KeptThings, body: dict[str, Any]) -> LunchNutrients:
    """The nutrients of one stored lunch, by its body.

    Own foods and packets are those of its day; a record from before these were kept goes by what is stored now.
    """
    lunch = KeptLunch.model_validate(body)
    try:
        whole = foods_resolved(kept, day_as_logged(lunch))
        packed = _figures(_day(kept, whole.model_copy(update={"uneaten": []})))
        eaten = _figures(_day(kept, whole)) if lunch.uneaten else packed  # nothing came back: all was eaten
    except LunchError as fault:  # one lunch is no reason to hold back all others: its row says why
        return LunchNutrients({}, None, fault_sentences(fault))
    return LunchNutrients(packed, None if lunch.uneaten is None else eaten, [])


def _day(kept: KeptThings, asked: WeekDayAsked) -> DayOfWeek:
    with at("packets"):
        packets = [] if asked.packets is not None else resolve_packets(kept.packets(asked.date, asked.date))
    return day_alone(asked, packets, kept.salts_cooking_water())


def _figures(day: DayOfWeek) -> Figures:
    """The columns of a lunch; an amount is left out where a food in it has no figure."""
    if day.vector is None:
        return {}
    found: Figures = {}
    foods = day.foods_eaten
    for place, (measure, row) in enumerate(totals_rows(add_up([day.vector]), False).items()):
        known = all(food.nutrients[place] is not None for food in foods)
        found |= {
            measure: row["amount"] if known else None,
            f"{measure}_low": row["low"],
            f"{measure}_high": row["high"],
        }
    return found
