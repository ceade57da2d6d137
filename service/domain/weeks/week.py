"""A school week of one child: sums of its days, checked against the same rows as a single lunch.

A day is one vector of measures. The mean of ``n`` days is judged as their sum against ``n`` times the bounds, and a
week's total against its bound for so many school days: whole numbers throughout, so a week of equal days is judged
as one of them is, and the order of the days cannot matter. A school day without figures is never filled: a mean is
told over the days that count, and for a total the day is an unknown like any other.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction
from functools import lru_cache
from typing import Literal, NamedTuple

from service.domain.foods.amounts import ItemVector, Totals, add_up
from service.domain.lunch.compiling import inclusive
from service.domain.lunch.findings import Judgement, Status, judge
from service.domain.lunch.standards import LimitRow, Target, TargetTable
from service.domain.measures import MEASURE_COUNT
from service.domain.weeks.stand_ins import in_other_ways

DayKind = Literal["packed", "bought", "none", "missing"]

ABSENT = ItemVector((0,) * MEASURE_COUNT, tuple((measure, 0, None) for measure in range(MEASURE_COUNT)))
"""A school day of which nothing is known: any amount of everything."""


class DaysRow(NamedTuple):
    """A week's bound as printed for so many school days."""

    at_least: Fraction | None
    at_most: Fraction | None
    source: str
    status: str


@dataclass(frozen=True, slots=True, eq=False)
class WeekLengths:
    """How a standard's week totals go with the number of school days.

    ``printed``: (target id, age group, days) -> the printed bounds. ``unscaled``: target ids whose bounds stay.
    Anything else goes by the day. ``guides``: likewise -> the upper end of a printed range, a guide that decides nothing.
    """

    usual_days: int
    printed: Mapping[tuple[str, str, int], DaysRow]
    unscaled: frozenset[str]
    unscaled_source: str = ""
    unscaled_status: str = ""
    by_the_day_source: str = "ours: no source"
    by_the_day_status: str = "proposed"
    guides: Mapping[tuple[str, str, int], float] = field(default_factory=dict)


FIVE_DAYS = WeekLengths(5, {}, frozenset())
"""A standard that says nothing of other weeks."""


class WeekFinding(NamedTuple):
    """A target over a week.

    ``over``: how many school days it was judged on; ``days``: for a rule of each day, what each day came to;
    ``share_percent``: for a share of one amount in another, how much it is where both are exact.
    """

    judgement: Judgement
    over: int
    days: tuple[tuple[date, Judgement], ...] = ()
    share_percent: float | None = None
    guide_at_most: float | None = None

    @property
    def status(self) -> Status:
        """Met, short, over, unknown or not applicable."""
        return self.judgement.status


class CountedDay(NamedTuple):
    """A school day with figures; ``parts``: the items that its sum is made of, where they are known one by one.

    ``core``: its sum without sweets and snacks; None: it has none.
    """

    on: date
    vector: ItemVector
    parts: tuple[ItemVector, ...] = ()
    core: ItemVector | None = None


@lru_cache(maxsize=2048)
def scaled_to_days(target: Target, days: int) -> Target:
    """The target with its bounds times ``days``, for the sum of so many days; amounts are shown as the mean.

    ``days``: 1 or more. Source: ours; the mean is that of the standard's row.

    >>> from datetime import date as day
    >>> from service.domain.lunch.compiling import compile_targets
    >>> from service.reference.lunch.standards import standard
    >>> school = standard("us-school-lunch")
    >>> table = compile_targets(school, school.group("grades-k-5"), day(2025, 9, 1))
    >>> energy = next(one for one in table.targets if one.id == "energy")
    >>> (energy.low, energy.high), (scaled_to_days(energy, 5).low, scaled_to_days(energy, 5).high)
    ((55000000000, 65000000000), (275000000000, 325000000000))
    """
    # The bounds times the days, not the sum divided by them: whole numbers stay whole.
    shown = target.shown_terms
    if target.kind != "share_of_energy":
        shown = tuple((measure, weight / days) for measure, weight in shown)
    return _with_bounds(
        replace(target, per_unit=target.per_unit * days, shown_terms=shown),
        None if target.low is None else target.low * days,
        None if target.high is None else target.high * days,
    )


def _with_bounds(target: Target, low: int | None, high: int | None) -> Target:
    lowest, highest = inclusive(low, high, above=target.above, below=target.below)
    limit = LimitRow(target.terms, lowest, highest)
    return replace(target, low=low, high=high, lowest=lowest, highest=highest, limit=limit)


@lru_cache(maxsize=2048)
def as_total_for(target: Target, group_id: str, days: int, lengths: WeekLengths) -> Target:
    """A week's total for a week of so many school days: as printed, unscaled, or by the day.

    ``days``: school days of the week, 1 or more. Source: the printed row of the standard; where it
    has none, by the day, which is ours.
    """
    if days == lengths.usual_days or not (target.low or target.high):
        return _with_bounds(target, target.low, target.high)
    printed = lengths.printed.get((target.id, group_id, days))
    if printed is not None:
        return _rebound(target, printed.at_least, printed.at_most, printed.source, printed.status)
    if target.id in lengths.unscaled:
        source, status = lengths.unscaled_source or target.source, lengths.unscaled_status or target.status
        return replace(_with_bounds(target, target.low, target.high), source=source, status=status)
    part = Fraction(days, lengths.usual_days)
    low = None if target.at_least is None else Fraction(str(target.at_least)) * part
    high = None if target.at_most is None else Fraction(str(target.at_most)) * part
    return _rebound(target, low, high, lengths.by_the_day_source, lengths.by_the_day_status)


def _rebound(target: Target, low: Fraction | None, high: Fraction | None, source: str, status: str) -> Target:
    """The target with other printed bounds, the row multiplied so that they stay whole numbers."""
    # What is whole already multiplies by 1.
    factor = 1
    for bound in (low, high):
        if bound is not None:
            factor = max(factor, 1) * (bound * target.per_unit * factor).denominator
    wide = replace(
        target,
        terms=tuple((measure, weight * factor) for measure, weight in target.terms),
        per_unit=target.per_unit * factor,
        at_least=None if low is None else float(low),
        at_most=None if high is None else float(high),
        source=source,
        status=status,
    )
    return _with_bounds(
        wide,
        None if low is None else int(low * wide.per_unit),
        None if high is None else int(high * wide.per_unit),
    )


def mean_targets(table: TargetTable, counted: int) -> list[Target]:
    """The rows that hold for the mean of a week, for the sum of so many days.

    ``counted``: days with figures; 0 counts as 1, so that a bound is shown.
    """
    return [scaled_to_days(target, max(counted, 1)) for target in table.targets if not target.firm]


def total_targets(table: TargetTable, school_days: int, lengths: WeekLengths) -> tuple[list[Target], list[Target]]:
    """The rows of a week's total: amounts, and shares of one amount in another (their bound is 0)."""
    scaled = [as_total_for(target, table.age_group.id, max(school_days, 1), lengths) for target in table.week_targets]
    return [one for one in scaled if one.low or one.high], [one for one in scaled if not (one.low or one.high)]


def week_findings(
    table: TargetTable, days: Sequence[CountedDay], school_days: int, lengths: WeekLengths
) -> list[WeekFinding]:
    """Every target of a standard over a week: means, totals, then the rules of each day.

    ``school_days``: how many there are, those without figures among them. A mean or a share is judged on the days
    that count; an amount in the week with every other school day as an unknown.

    ``days``: those with figures, as sums of whole parts (``SCALE``). Source: ours; bounds carry theirs.
    """
    counted = len(days)
    known = add_up([day.vector for day in days] or [ABSENT])
    # An absent day may hold any amount of a week's total; a mean is over the days that count.
    whole = add_up([day.vector for day in days] + [ABSENT] * (school_days - counted) or [ABSENT])
    amounts, shares = total_targets(table, school_days, lengths)
    found = [WeekFinding(judge(target, known), counted) for target in mean_targets(table, counted)]
    for target in amounts:
        guide = lengths.guides.get((target.id, table.age_group.id, school_days))
        found.append(WeekFinding(_judged_any_way(target, amounts, whole), counted, guide_at_most=guide))
    found += [WeekFinding(judge(target, known), counted, (), _share(target, known)) for target in shares]
    totals = [add_up([day.vector]) for day in days]
    for target in table.targets:
        if target.firm:
            each = tuple((day.on, judge(target, total)) for day, total in zip(days, totals, strict=True))
            found.append(_over_days(target, each))
    return found


def energy_without_sweets(table: TargetTable, days: Sequence[CountedDay]) -> list[WeekFinding]:
    """The means of energy that a week keeps only with its sweets and snacks: each judged without them.

    ``days``: those with figures. Source: ours, status proposed; the standard's own finding stays as it is.
    """
    rule = table.standard.points_off.energy_rule
    if rule is None or all(day.core is None for day in days):
        return []
    whole = add_up([day.vector for day in days])
    core = add_up([day.vector if day.core is None else day.core for day in days])
    found = []
    for target in mean_targets(table, len(days)):
        if not target.is_energy_minimum or judge(target, whole).status == "short":
            continue
        minimum = replace(
            target, id=rule.id, label=rule.label, at_most=None, source=rule.source, status=rule.status, note=""
        )
        judged = judge(_with_bounds(minimum, target.low, None), core)
        if judged.status == "short":
            found.append(WeekFinding(judged, len(days)))
    return found


def _judged_any_way(target: Target, rows: Sequence[Target], totals: Totals) -> Judgement:
    """A week's amount; where groups may stand in for another, the first way that keeps it, else the row as it is."""
    judged = judge(target, totals)
    if judged.status == "met":
        return judged
    others = (judge(other, totals) for other in in_other_ways(target, rows))
    return next((one for one in others if one.status == "met"), judged)


def _share(target: Target, totals: Totals) -> float | None:
    """The part in percent of the whole, for a row of one amount less a share of another."""
    part = [measure for measure, weight in target.terms if weight > 0]
    whole = [measure for measure, weight in target.terms if weight < 0]
    if len(part) != 1 or len(whole) != 1 or not target.measures.isdisjoint(totals.low):
        return None
    of = totals.nominal[whole[0]]
    return 100 * totals.nominal[part[0]] / of if of else None


def _over_days(target: Target, each: tuple[tuple[date, Judgement], ...]) -> WeekFinding:
    """A rule of each day: the most serious of what the days came to (none at all is unknown)."""
    if not each:
        return WeekFinding(judge(target, add_up([ABSENT])), 0)
    rank: dict[Status, int] = {"over": 4, "short": 4, "unknown": 3, "met": 2, "not_applicable": 1}

    def gravity(one: Judgement) -> tuple[int, float, float]:
        # Satisfaction is nil from some distance on: among such days the one furthest off is the most serious. Where all
        # days keep a minimum, the one with the least is shown.
        least_counts = one.status == "short" or (one.status == "met" and target.low is not None)
        return rank[one.status], -one.satisfaction, -one.amount if least_counts else one.amount

    gravest = max((one for _on, one in each), key=gravity)
    return WeekFinding(gravest, len(each), each)
