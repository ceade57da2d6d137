"""How the weeks of a request went, oldest first: days counted, findings met, means, and cost."""

from collections.abc import Callable, Sequence
from typing import Any

from service.domain.foods.amounts import add_up
from service.domain.measures import MEASURE_INDEX, NUTRIENT_COUNT, SCALE
from service.domain.weeks.cost import rounded
from service.jobs.weeks.days import SchoolWeek
from service.jobs.weeks.money import PriceBook, day_cost

TREND_MEASURES = (
    "energy_kcal",
    "saturated_fat_g",
    "sodium_mg",
    "added_sugars_g",
    "fibre_g",
    "fruit_cup",
    "vegetable_cup",
)

Statuses = Callable[[SchoolWeek], Sequence[str] | None]
"""The statuses of a week's findings; None where the standard has no rows for it."""


def trend_rows(
    weeks: Sequence[SchoolWeek], statuses: Statuses, book: PriceBook | None, with_credits: bool
) -> list[dict[str, Any]]:
    """One row a week that has a day in the request."""
    return [_row(week, statuses(week), book, with_credits) for week in weeks]


def _row(week: SchoolWeek, found: Sequence[str] | None, book: PriceBook | None, with_credits: bool) -> dict[str, Any]:
    counted = week.counted()
    means: dict[str, Any] = {}
    if counted:
        totals = add_up([day.vector for day in counted])
        for measure in TREND_MEASURES:
            index = MEASURE_INDEX[measure]
            if index < NUTRIENT_COUNT or with_credits:
                means[measure] = {
                    "mean": round(totals.nominal[index] / SCALE / len(counted), 3),
                    "complete": index not in totals.low,
                }
    costs = [day_cost(day, book) for day in week.days if day.kind == "packed"] if book is not None else []
    return {
        "week": week.week,
        "school_days": len(week.school_days),
        "counted_days": len(counted),
        "judged": found is not None,
        "met": sum(one == "met" for one in found or ()),
        "not_met": sum(one in ("short", "over") for one in found or ()),
        "unknown": sum(one == "unknown" for one in found or ()),
        "means": means,
        "packed_a_day_minor": rounded(sum((one.exact for one in costs), start=costs[0].exact * 0) / len(costs))
        if costs
        else None,
        "packed_complete": bool(costs) and not any(one.unpriced for one in costs),
    }
