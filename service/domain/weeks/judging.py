"""Judges a whole week of one child: findings, a third of a day's references, variety, cost, and how the weeks went.

Everything that has to be looked up (rows in force, references, prices) comes in; nothing is looked up here.
"""

from collections.abc import Sequence
from typing import NamedTuple

from service.domain.foods.amounts import Totals, add_up
from service.domain.lunch.findings import Status, judge
from service.domain.lunch.standards import Target, TargetTable
from service.domain.lunch.yardsticks import BesideYardstick, Yardstick
from service.domain.measures import MEASURE_INDEX, NUTRIENT_COUNT, SCALE
from service.domain.weeks.cost import KindCost, PriceBook, WeekCost, week_cost
from service.domain.weeks.days import WeekDay, WeekOfDays, days_before, school_days_of
from service.domain.weeks.frequency import FrequencyFinding, FrequencyRow, frequency_findings
from service.domain.weeks.packed_days import (
    HandledOnDays,
    PackedWeek,
    RuleOnDays,
    ScreenedOnDays,
    handling,
    product_rules,
    screened_foods,
)
from service.domain.weeks.variety import Variety, variety_of
from service.domain.weeks.week import (
    ABSENT,
    FIVE_DAYS,
    WeekFinding,
    WeekLengths,
    energy_without_sweets,
    scaled_to_days,
    week_findings,
)

TREND_MEASURES = (
    "energy_kcal",
    "saturated_fat_g",
    "sodium_mg",
    "added_sugars_g",
    "fibre_g",
    "fruit_cup",
    "vegetable_cup",
)


class TargetRules(NamedTuple):
    """The rules of a week by a standard of targets."""

    table: TargetTable
    lengths: WeekLengths


class FrequencyRules(NamedTuple):
    """The rules of a week by a standard of frequencies and portions."""

    rows: tuple[FrequencyRow, ...]
    vegetarian: bool


Rules = TargetRules | FrequencyRules


class TrendMean(NamedTuple):
    """The mean of a measure over the days of a week and the least it can be, in its unit; whether all of it is known."""

    mean: float
    mean_low: float
    complete: bool


class TrendWeek(NamedTuple):
    """How one week went. ``statuses``: of its findings, None where the standard has no rows for that week.

    ``packed``: what its packed lunches cost; None without prices or without such a lunch.
    """

    week: str
    school_days: int
    counted_days: int
    statuses: tuple[Status, ...] | None
    means: dict[str, TrendMean]
    packed: KindCost | None


class JudgedWeek(NamedTuple):
    """What a week came to. ``findings`` for a standard of targets, ``frequencies`` for one of frequencies.

    ``totals``: over the days with figures; None where there is no such day. ``references``: in the order given.
    ``screened``, ``products``, ``handling``: of single foods and lunches, each once with its days. ``beside``: the
    yardsticks, which change nothing else.
    """

    findings: list[WeekFinding]
    frequencies: list[FrequencyFinding]
    references: list[WeekFinding]
    totals: Totals | None
    variety: Variety
    cost: WeekCost | None
    trend: list[TrendWeek]
    screened: list[ScreenedOnDays]
    products: list[RuleOnDays]
    handling: list[HandledOnDays]
    beside: list[BesideYardstick[WeekFinding]]

    def is_open(self) -> bool:
        """Whether a rule over the week is broken or cannot be decided, so that a change is worth looking for."""
        found = [one.status for one in self.findings] + [one.status for one in self.frequencies]
        return any(status in ("short", "over", "unknown") for status in found)


def judge_week(
    weeks: Sequence[WeekOfDays[WeekDay]],
    rules: Sequence[Rules | None],
    references: Sequence[Target],
    prices: PriceBook | None,
    with_credits: bool,
    packed: PackedWeek,
    yardsticks: Sequence[Yardstick] = (),
) -> JudgedWeek:
    """Judge the last of some weeks; the others serve rules over three weeks, new foods and the trend.

    ``rules``: those in force in each week, None where there are none; the last week has some. ``with_credits``:
    whether food groups are credited, so that their means say something. ``packed``: the foods of the last week.

    ``weeks``: oldest first, one at least, as many as ``rules``. Source: ours; rules carry theirs.
    """
    week = weeks[-1]
    counted = week.counted()
    totals = add_up([day.vector for day in counted]) if counted else None
    known = totals or add_up([ABSENT])
    findings: list[WeekFinding] = []
    frequencies: list[FrequencyFinding] = []
    trend = []
    for one, own in zip(weeks, rules, strict=True):
        statuses: tuple[Status, ...] | None = None
        if isinstance(own, TargetRules):
            findings = week_findings(own.table, one.counted(), len(one.school_days), own.lengths)
            statuses = tuple(found.status for found in findings)
            findings += energy_without_sweets(own.table, one.counted())
        elif own is not None:
            earlier = days_before(weeks, one.monday)
            frequencies = frequency_findings(own.rows, school_days_of(one), earlier, one.monday, own.vegetarian)
            statuses = tuple(found.status for found in frequencies)
        trend.append(_in_trend(one, statuses, prices, with_credits))
    return JudgedWeek(
        findings,
        frequencies,
        [WeekFinding(judge(scaled_to_days(one, max(1, len(counted))), known), len(counted)) for one in references],
        totals,
        variety_of(
            [(day.on, day.counted) for day in week.days if day.counted is not None],
            [day.counted for one in weeks[:-1] for day in one.days if day.counted is not None],
        ),
        None if prices is None else week_cost(week.to_price(), prices),
        trend,
        screened_foods(packed),
        product_rules(packed),
        handling(packed),
        [BesideYardstick(one, _beside(one, week)) for one in yardsticks],
    )


def _beside(yardstick: Yardstick, week: WeekOfDays[WeekDay]) -> list[WeekFinding]:
    """A week by the rows of a yardstick; none where it has none."""
    if yardstick.table is None:
        return []
    return week_findings(yardstick.table, week.counted(), len(week.school_days), FIVE_DAYS)


def _in_trend(
    week: WeekOfDays[WeekDay], statuses: tuple[Status, ...] | None, prices: PriceBook | None, with_credits: bool
) -> TrendWeek:
    counted = week.counted()
    means = {}
    if counted:
        totals = add_up([day.vector for day in counted])
        for measure in TREND_MEASURES:
            index = MEASURE_INDEX[measure]
            if index < NUTRIENT_COUNT or with_credits:
                mean = totals.nominal[index] / SCALE / len(counted)
                low = totals.lowest(index) / SCALE / len(counted)
                means[measure] = TrendMean(mean, low, index not in totals.low)
    packed = None if prices is None else week_cost(week.to_price(), prices).packed
    some = packed if packed is not None and packed.days else None
    return TrendWeek(week.week, len(week.school_days), len(counted), statuses, means, some)
