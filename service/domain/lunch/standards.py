"""A standard as dated rows, and how it compiles into linear rows for one age group and date.

A *target* is a weighted sum of measures with a lower and/or an upper bound, so "saturated fat under
10 % of energy" is the row ``9 * saturated_fat_g - 0.10 * energy_kcal < 0``. All weights and bounds
are made whole numbers on compiling, so every comparison is exact. What a bound means for a single
lunch (firm, or a week's mean) is the row's *basis*.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from math import lcm
from typing import Literal, NamedTuple

from service.domain.errors import OutsideDates
from service.domain.lunch.age_groups import AgeGroup, group_named, group_of_age
from service.domain.measures import ENERGY, MEASURE_INDEX, SCALE
from service.domain.messages import message

TargetBasis = Literal["lunch", "school_day", "week_mean", "week_total"]
TermKind = Literal["measure", "share_of_energy", "combination"]

PERCENT = 100


class TargetRow(NamedTuple):
    """One row of a standard's file: bounds on one weighted sum for one age group and span of days."""

    id: str
    age_group: str
    label: str
    kind: TermKind
    terms: Mapping[str, Decimal]
    unit: str
    basis: TargetBasis
    at_least: Decimal | None
    at_most: Decimal | None
    above: bool
    below: bool
    from_day: date
    until_day: date | None
    source: str
    status: str
    note: str = ""

    def in_force(self, on: date) -> bool:
        """Whether the row holds on that day."""
        return self.from_day <= on and (self.until_day is None or on <= self.until_day)


class Scoring(NamedTuple):
    """How a target counts in the score: its weight, and how far beyond its bound satisfaction is nil."""

    weight: Fraction
    distance_percent: Fraction


class EnergyRule(NamedTuple):
    """The rule that energy from sweets and snacks fills no minimum of energy: ours, and none of a standard."""

    id: str
    label: str
    source: str
    status: str


class PointsOff(NamedTuple):
    """What is taken off a score besides what its targets leave, in points: reference_data/scoring.toml.

    ``discretionary_kcal_per_point``: 0 for nothing. ``most_distances_over``: how often ``for_far_over`` counts for one target.
    """

    for_a_product: float = 0.0
    for_handling: float = 0.0
    discretionary_kcal_per_point: int = 0
    for_far_over: float = 0.0
    most_distances_over: float = 0.0
    energy_rule: EnergyRule | None = None


NO_POINTS = PointsOff()


class ProductRule(NamedTuple):
    """A limit on one product of a lunch (sugar in a yogurt), not on the lunch."""

    id: str
    label: str
    applies_to: frozenset[str]
    measure: str
    at_most: Decimal
    per_grams: Decimal
    age_groups: frozenset[str]
    from_day: date
    until_day: date | None
    source: str
    status: str


class MilkRule(NamedTuple):
    """Which kinds of fluid milk an age group may be served."""

    id: str
    label: str
    allowed: frozenset[str]
    age_groups: frozenset[str]
    from_day: date
    until_day: date | None
    source: str
    status: str


class SubstituteRule(NamedTuple):
    """A component that a child who avoids an allergen cannot have.

    ``targets``: ids of the targets that ask for it. ``holds_per_cup``: what a cup of a food must hold to count in its
    place, by measure in its unit. ``look_at``: the measures to look at where nothing stands in its place.
    """

    id: str
    label: str
    allergen: str
    targets: frozenset[str]
    holds_per_cup: Mapping[str, float]
    look_at: tuple[str, ...]
    age_groups: frozenset[str]
    from_day: date
    until_day: date | None
    source: str
    status: str


@dataclass(frozen=True, slots=True, eq=False)
class Standard:
    """One dated, cited standard."""

    id: str
    jurisdiction: str
    title: str
    citation: str
    about: str
    crediting: str
    complete: str
    missing: tuple[str, ...]
    historical: bool
    checked_until: date | None
    age_groups: tuple[AgeGroup, ...]
    rows: tuple[TargetRow, ...]
    scoring: Mapping[str, Scoring]
    product_rules: tuple[ProductRule, ...] = ()
    milk_rules: tuple[MilkRule, ...] = ()
    substitute_rules: tuple[SubstituteRule, ...] = ()
    points_off: PointsOff = NO_POINTS

    def group(self, group_id: str) -> AgeGroup:
        """The age group of that id, or ``UnknownName``."""
        return group_named(self.age_groups, group_id, self.id)

    def group_of_age(self, age_months: int) -> AgeGroup:
        """The age group that covers an age in months, or ``OutsideAgeGroups``."""
        return group_of_age(self.age_groups, age_months, self.id)


class LimitRow(NamedTuple):
    """A whole-number row with inclusive bounds: the row of a target as far as one lunch by itself must keep it."""

    terms: tuple[tuple[int, int], ...]
    low: int | None
    high: int | None


@dataclass(frozen=True, slots=True, eq=False)
class Target:
    """A compiled target (hashed by identity): whole-number weights over measures and whole-number bounds.

    ``terms``: (measure index, weight). The row's value is ``sum(weight * amount)`` with amounts in
    whole parts (``SCALE``); ``low``/``high`` are bounds on it (inclusive unless ``above``/``below``). For a share
    of energy the bounds are folded into the weights and ``high`` (or ``low``) is 0. ``lowest``/``highest``: the
    least and the greatest whole-number value that keeps the target. ``per_unit``: the
    row's value for one unit of the printed bound (not for shares). ``limit``: what one lunch by itself must
    keep: the bounds themselves, or for a week's mean the bounds widened by the stated distance.
    """

    id: str
    label: str
    kind: TermKind
    terms: tuple[tuple[int, int], ...]
    measures: frozenset[int]
    shown_terms: tuple[tuple[int, float], ...]
    low: int | None
    high: int | None
    above: bool
    below: bool
    lowest: int | None
    highest: int | None
    per_unit: int
    limit: LimitRow
    at_least: float | None
    at_most: float | None
    unit: str
    basis: TargetBasis
    weight: float
    distance_percent: float
    source: str
    status: str
    note: str

    @property
    def is_energy_minimum(self) -> bool:
        """Whether it asks for so much energy, or more."""
        return self.lowest is not None and self.kind == "measure" and self.measures == {ENERGY}

    @property
    def firm(self) -> bool:
        """Whether one lunch by itself must meet it."""
        return self.basis in ("lunch", "school_day")


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class TargetTable:
    """A standard compiled for one age group and day."""

    standard: Standard
    age_group: AgeGroup
    on: date
    targets: tuple[Target, ...]
    week_targets: tuple[Target, ...]
    product_rules: tuple[ProductRule, ...]
    milk_rules: tuple[MilkRule, ...]
    substitute_rules: tuple[SubstituteRule, ...] = ()
    left_out: tuple[tuple[Target, SubstituteRule], ...] = ()
    """Targets that do not apply to the child, each with the rule that says so; see `without_avoided`."""

    def __repr__(self) -> str:
        """Which one it is; all its rows would fill pages."""
        return f"TargetTable({self.standard.id}, {self.age_group.id}, {self.on.isoformat()})"


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
