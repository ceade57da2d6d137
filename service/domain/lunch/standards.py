"""A standard as dated rows, and the linear rows that they compile into for one age group and date (``compiling``).

A *target* is a weighted sum of measures with a lower and/or an upper bound, so "saturated fat under
10 % of energy" is the row ``9 * saturated_fat_g - 0.10 * energy_kcal < 0``. All weights and bounds
are made whole numbers on compiling, so every comparison is exact. What a bound means for a single
lunch (firm, or a week's mean) is the row's *basis*.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Literal, NamedTuple

from service.domain.lunch.age_groups import AgeGroup, group_named, group_of_age
from service.domain.measures import ENERGY

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
    """One dated, cited standard; ``yardstick``: shown beside a standard for lunches, and none itself."""

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
    yardstick: bool = False

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
