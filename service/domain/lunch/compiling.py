"""How a standard compiles into linear rows for one age group and day.

All weights and bounds are made whole numbers, so every comparison is exact.
"""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from math import lcm

from service.domain.errors import OutsideDates
from service.domain.lunch.age_groups import AgeGroup
from service.domain.lunch.standards import PERCENT, LimitRow, Scoring, Standard, Target, TargetRow, TargetTable
from service.domain.measures import ENERGY, MEASURE_INDEX, SCALE
from service.domain.messages import message


@lru_cache(maxsize=64)
def first_and_last_day(standard: Standard) -> tuple[date, date | None]:
    """First known day of the standard's rows, and the last one (None: still in force).

    Both inclusive. Source: the standard's file.
    """
    first = min(row.from_day for row in standard.rows)
    ends = [row.until_day for row in standard.rows]
    last = None if any(end is None for end in ends) else max(end for end in ends if end is not None)
    return first, last


def check_date(standard: Standard, on: date) -> None:
    """Refuse a day on which no row is in force, naming the first and last known day.

    Raises ``OutsideDates``.
    """
    first, last = first_and_last_day(standard)
    if on < first or (last is not None and on > last):
        days = (
            message("help.days", first=first.isoformat(), last=last.isoformat())
            if last
            else message("help.days-without-end", first=first.isoformat())
        )
        raise OutsideDates(
            value=on.isoformat(), problem=message("fault.outside-dates", standard=standard.id, days=days)
        )


def compile_targets(standard: Standard, group: AgeGroup, on: date) -> TargetTable:
    """Compile the rows in force on a day for an age group.

    Raises ``OutsideDates`` for a day before the first or after the last row.

    ``group``: an age group of this standard; ``on``: the day the lunch is eaten.

    Source: the method is ours; the bounds carry the source of their rows.

    >>> from service.reference.lunch.standards import standard
    >>> school = standard("us-school-lunch")
    >>> table = compile_targets(school, school.group("grades-k-5"), date(2025, 9, 1))
    >>> share = next(one for one in table.targets if one.kind == "share_of_energy")
    >>> share.label, share.at_most, share.below
    ('saturated fat', 10.0, True)
    >>> share.terms, share.highest  # 900 * saturated fat (9 kcal a gram) - 10 * energy is below 0
    (((0, -10), (3, 900)), -1)
    """
    check_date(standard, on)
    rows = [place for place, row in enumerate(standard.rows) if row.age_group == group.id and row.in_force(on)]
    if not rows:
        days = [row.from_day for row in standard.rows if row.age_group == group.id]
        raise OutsideDates(
            value=on.isoformat(),
            problem=message("fault.no-rows-that-day", standard=standard.id, group=group.id, first=min(days).isoformat())
            if days
            else message("fault.no-rows-for-group", standard=standard.id, group=group.id),
        )
    single: list[Target] = []
    week: list[Target] = []
    for place in rows:
        (week if standard.rows[place].basis == "week_total" else single).extend(_targets_of_row(standard, place))

    def holds(from_day: date, until_day: date | None, groups: frozenset[str]) -> bool:
        return group.id in groups and from_day <= on and (until_day is None or on <= until_day)

    return TargetTable(
        standard=standard,
        age_group=group,
        on=on,
        targets=tuple(single),
        week_targets=tuple(week),
        product_rules=tuple(r for r in standard.product_rules if holds(r.from_day, r.until_day, r.age_groups)),
        milk_rules=tuple(r for r in standard.milk_rules if holds(r.from_day, r.until_day, r.age_groups)),
        substitute_rules=tuple(r for r in standard.substitute_rules if holds(r.from_day, r.until_day, r.age_groups)),
    )


def without_avoided(table: TargetTable, avoided: frozenset[str]) -> TargetTable:
    """The table for a child who must not have some allergens: what asks for a food of theirs does not apply to it.

    ``avoided``: allergen ids. The same table where nothing of it is concerned. Source: beside each rule (US: 7 CFR 210.10(d)).
    """
    rule_of = {target: rule for rule in table.substitute_rules if rule.allergen in avoided for target in rule.targets}
    if not rule_of:
        return table
    return replace(
        table,
        targets=tuple(one for one in table.targets if one.id not in rule_of),
        week_targets=tuple(one for one in table.week_targets if one.id not in rule_of),
        left_out=tuple((one, rule_of[one.id]) for one in table.targets if one.id in rule_of),
    )


@lru_cache(maxsize=4096)
def _targets_of_row(standard: Standard, place: int) -> tuple[Target, ...]:
    """The targets of one row, the same on every day that it is in force: so is all that is remembered of them."""
    row = standard.rows[place]
    return tuple(_compile_row(row, standard.scoring[row.id]))


def _compile_row(row: TargetRow, scoring: Scoring) -> Iterable[Target]:
    """One target for a plain row; for a share of energy one target a bound."""
    if row.kind != "share_of_energy":
        yield _target(row, scoring, row.at_least, row.at_most, row.id)
        return
    both = row.at_least is not None and row.at_most is not None
    if row.at_least is not None:
        yield _target(row, scoring, row.at_least, None, row.id + "-least" if both else row.id)
    if row.at_most is not None:
        yield _target(row, scoring, None, row.at_most, row.id + "-most" if both else row.id)


def _target(
    row: TargetRow, scoring: Scoring, at_least: Decimal | None, at_most: Decimal | None, target_id: str
) -> Target:
    low = None if at_least is None else Fraction(at_least)
    high = None if at_most is None else Fraction(at_most)
    terms, low_row, high_row, factor = _whole_numbers(row, low, high)
    above = row.above and at_least is not None
    below = row.below and at_most is not None
    lowest, highest = inclusive(low_row, high_row, above=above, below=below)
    return Target(
        id=target_id,
        label=row.label,
        kind=row.kind,
        terms=terms,
        measures=frozenset(measure for measure, _weight in terms),
        shown_terms=tuple(sorted((MEASURE_INDEX[measure], float(weight)) for measure, weight in row.terms.items())),
        low=low_row,
        high=high_row,
        above=above,
        below=below,
        lowest=lowest,
        highest=highest,
        per_unit=factor * SCALE,
        limit=_limit(row, scoring, low, high, above, below),
        at_least=None if at_least is None else float(at_least),
        at_most=None if at_most is None else float(at_most),
        unit=row.unit,
        basis=row.basis,
        weight=float(scoring.weight),
        distance_percent=float(scoring.distance_percent),
        source=row.source,
        status=row.status,
        note=row.note,
    )


def inclusive(low: int | None, high: int | None, *, above: bool, below: bool) -> tuple[int | None, int | None]:
    """The least and the greatest whole number within bounds: ``above`` and ``below`` leave out the bound itself.

    >>> inclusive(100, 200, above=False, below=True)
    (100, 199)
    """
    return low if low is None else low + int(above), high if high is None else high - int(below)


def _whole_numbers(
    row: TargetRow, low: Fraction | None, high: Fraction | None
) -> tuple[tuple[tuple[int, int], ...], int | None, int | None, int]:
    """Terms, lower and upper bound of a row as whole numbers, and the factor they were multiplied by."""
    shown = {MEASURE_INDEX[measure]: Fraction(weight) for measure, weight in row.terms.items()}
    if row.kind == "share_of_energy":
        # 100 * part / energy < bound becomes 100 * part - bound * energy < 0: a linear row, without division.
        bound = low if low is not None else high
        weights = {index: weight * PERCENT for index, weight in shown.items()}
        weights[ENERGY] = weights.get(ENERGY, Fraction(0)) - (bound or 0)
        low = None if low is None else Fraction(0)
        high = None if high is None else Fraction(0)
    else:
        weights = shown
        low = None if low is None else low * SCALE
        high = None if high is None else high * SCALE
    denominators = [weight.denominator for weight in weights.values()]
    denominators += [bound.denominator for bound in (low, high) if bound is not None]
    # One factor for the weights and the bounds: the row means the same, and every number is whole.
    factor = lcm(*denominators)
    terms = tuple((index, int(weight * factor)) for index, weight in sorted(weights.items()) if weight)
    return terms, None if low is None else int(low * factor), None if high is None else int(high * factor), factor


def _limit(
    row: TargetRow, scoring: Scoring, low: Fraction | None, high: Fraction | None, above: bool, below: bool
) -> LimitRow:
    """The row with the bounds that one lunch must keep, inclusive.

    For a week's mean these lie the stated distance further out: there satisfaction is nil.
    """
    if row.basis == "week_mean":
        reach = scoring.distance_percent / PERCENT
        # A bound of 0 cannot be widened by a part of itself. At the widened bound satisfaction is nil: it is left out.
        if low:
            low, above = low - abs(low) * reach, True
        if high:
            high, below = high + abs(high) * reach, True
    terms, low_row, high_row, _factor = _whole_numbers(row, low, high)
    return LimitRow(terms, *inclusive(low_row, high_row, above=above, below=below))
