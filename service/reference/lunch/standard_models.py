"""The shape of a standard's file, a crediting file and the energy equations (strict)."""

from datetime import date
from decimal import Decimal
from typing import Literal

from pydantic import Field, model_validator

from service.domain.lunch.age_groups import AgeGroup
from service.reference.files import DataStatus, FileModel, Noted

Basis = Literal["lunch", "school_day", "week_mean", "week_total"]


class AgeGroupRow(Noted):
    """One age group, half-open in months."""

    id: str
    title: str
    from_age_months: int = Field(ge=0)
    below_age_months: int = Field(gt=0)

    @model_validator(mode="after")
    def _ordered(self) -> "AgeGroupRow":
        if self.from_age_months >= self.below_age_months:
            raise ValueError("from_age_months must be less than below_age_months")
        return self


class Dated(FileModel):
    """What every dated row carries."""

    from_: date = Field(alias="from")
    until: date | None = None
    source: str = Field(min_length=1)
    status: DataStatus
    note: str = ""

    @model_validator(mode="after")
    def _days_ordered(self) -> "Dated":
        if self.until is not None and self.until < self.from_:
            raise ValueError("until lies before from")
        return self


class TargetFileRow(Dated):
    """One target row."""

    id: str = Field(pattern=r"^[a-z][a-z0-9-]*$")
    age_group: str
    label: str
    measure: str | None = None
    share_of_energy: dict[str, Decimal] | None = None
    combination: dict[str, Decimal] | None = None
    unit: str
    basis: Basis
    at_least: Decimal | None = None
    above: Decimal | None = None
    at_most: Decimal | None = None
    below: Decimal | None = None

    @model_validator(mode="after")
    def _one_sum_and_bounds(self) -> "TargetFileRow":
        given = [x for x in (self.measure, self.share_of_energy, self.combination) if x is not None]
        if len(given) != 1:
            raise ValueError("give exactly one of measure, share_of_energy, combination")
        if self.at_least is not None and self.above is not None:
            raise ValueError("give at_least or above, not both")
        if self.at_most is not None and self.below is not None:
            raise ValueError("give at_most or below, not both")
        low = self.at_least if self.at_least is not None else self.above
        high = self.at_most if self.at_most is not None else self.below
        if low is None and high is None:
            raise ValueError("give a bound: at_least, above, at_most or below")
        if low is not None and high is not None and low > high:
            raise ValueError("the lower bound lies above the upper one")
        return self


class ScoringRow(Noted):
    """How a target counts in the score."""

    target: str
    weight: Decimal = Field(gt=0)
    distance_percent: Decimal = Field(gt=0)


class GroupRule(Dated):
    """A rule that applies to some age groups of the file."""

    id: str
    label: str
    age_groups: list[str] = Field(min_length=1)


class ProductRuleRow(GroupRule):
    """A limit on one product."""

    applies_to: list[str] = Field(min_length=1)
    measure: str
    at_most: Decimal
    per_grams: Decimal = Field(gt=0)


class MilkRuleRow(GroupRule):
    """The kinds of fluid milk an age group may be served."""

    allowed: list[str] = Field(min_length=1)


class SubstituteRuleRow(GroupRule):
    """A component that a child may have to avoid: what may stand in its place, and what to look at otherwise."""

    allergen: str
    targets: list[str] = Field(min_length=1)
    holds_per_cup: dict[str, Decimal] = Field(min_length=1)
    look_at: list[str] = Field(min_length=1)


class StandardHead(FileModel):
    """What a file of a standard says of itself, whatever its rows."""

    id: str
    jurisdiction: str
    title: str
    citation: str
    about: str
    complete: Literal["complete", "partial"]
    missing: list[str]
    checked_from: date
    checked_until: date | None = None
    historical: bool = False
    age_group: list[AgeGroupRow] = Field(min_length=1)

    def age_groups(self) -> tuple[AgeGroup, ...]:
        """The age groups of the file."""
        return tuple(
            AgeGroup(row.id, row.title, row.from_age_months, row.below_age_months, row.source, row.status)
            for row in self.age_group
        )


class StandardFile(StandardHead):
    """One standard; ``yardstick``: shown beside a standard for lunches, and none itself."""

    crediting: str
    yardstick: bool = False
    target: list[TargetFileRow] = Field(min_length=1)
    scoring: list[ScoringRow]
    product_rule: list[ProductRuleRow] = []
    milk_rule: list[MilkRuleRow] = []
    substitute_rule: list[SubstituteRuleRow] = []


class RoundingRow(Noted):
    """Rounding of one credit."""

    measure: str
    step: Decimal = Field(gt=0)
    minimum: Decimal = Field(ge=0)


class GrainGroupRow(Noted):
    """Grams of one ounce equivalent for a group of grain foods."""

    id: str
    grams_per_oz_eq: Decimal = Field(gt=0)
    members: str


class CreditableGrain(Noted):
    """Grams of creditable grain that make one ounce equivalent."""

    grams_per_oz_eq: Decimal = Field(gt=0)


class CreditAmountRow(Noted):
    """How much of a food makes one unit of credit."""

    food: str
    component: str
    grams_per_unit: Decimal | None = None
    description: str = ""


class CreditingFile(FileModel):
    """One crediting scheme."""

    id: str
    title: str
    source: str
    note: str = ""
    rounding: list[RoundingRow] = Field(min_length=1)
    grain_group: list[GrainGroupRow] = []
    creditable_grain: CreditableGrain
    amount: list[CreditAmountRow] = []


class ScoringFile(FileModel):
    """What is taken off every score; see ``PointsOff``."""

    source: str
    status: DataStatus
    points_for_a_product: float = Field(ge=0)
    points_for_handling: float = Field(ge=0)
    discretionary_kcal_per_point: int = Field(ge=0)
    energy_rule: str
    energy_label: str
    points_for_far_over: float = Field(ge=0)
    most_distances_over: float = Field(ge=0)
