"""The published shapes of a lunch check and of the standards."""

from typing import Literal

from pydantic import Field

from service.api.allergens.replies import AllergenFinding
from service.api.replies import OfItem, Said, SaidMessage, SourceStatus, Status, Told, Verdict


class StandardUsed(Told):
    """The standard, age group and day a lunch was checked against."""

    id: str
    title: str
    citation: str
    about: str
    historical: bool
    age_group: str
    age_group_title: str
    on: str


class CheckedItem(OfItem):
    """One item as it was understood."""

    food: str
    name: str
    quantity: float
    unit: str
    grams: float
    form: str | None
    credits: dict[str, float] = Field(description="Food-group credits after rounding, cups or ounce equivalents.")
    energy_kcal: float | None
    source: str = Field(description="Where its figures come from.")


class Finding(OfItem, Said):
    """One target or product rule, judged."""

    id: str
    kind: Literal["target", "product_rule"]
    label: str
    status: Status
    amount: float | None = Field(description="In the unit given; unknown parts counted as nothing.")
    amount_low: float | None
    amount_high: float | None = Field(description="null: no upper end is known.")
    at_least: float | None
    at_most: float | None
    exclusive: bool = Field(description="The bound itself does not count as met.")
    unit: str
    basis: Literal["lunch", "school_day", "week_mean", "week_total", "product"]
    firm: bool = Field(description="One lunch by itself must meet it.")
    counts: bool = Field(description="It makes this lunch one to adjust.")
    source: str
    source_status: SourceStatus


class Total(Told):
    """The sum of one measure over the lunch."""

    amount: float
    low: float
    high: float | None
    unit: str
    complete: bool = Field(description="Every item has a figure.")


class HandlingFound(Said):
    """A choking form, or cold or hot holding."""

    id: str
    status: Literal["in_order", "fix", "do_not_pack", "unknown"]
    items: list[str]
    brief: str
    brief_message: SaidMessage
    source: str
    source_status: SourceStatus


class HandlingFinding(HandlingFound):
    """A choking form, or cold or hot holding, of items of the request."""

    places: list[int] = Field(description="Places of the items in the request, from 0.")
    item_ids: list[str | None] = Field(description="Your own ids for them, in the order of places.")


class EnergyNeed(Said):
    """One child's estimated need, beside the age group's range."""

    day_kcal: float
    lunch_percent: float
    lunch_kcal: float
    source: str
    source_status: SourceStatus
    share_source: str
    share_status: SourceStatus


class Change(OfItem, Said):
    """One single change and what it mends."""

    kind: Literal["portion", "swap", "add", "remove", "form"]
    instead_of: str | None
    instead_of_name: str | None
    food: str | None
    name: str | None
    quantity: float | None
    unit: str | None
    grams: float | None
    form: str | None = Field(description="How the food that comes in is cut; the change rests on it.")
    mends: list[str] = Field(description="Ids of the findings it mends.")
    mends_labels: list[str]
    score_after: float


class LunchCheckReply(Told):
    """The answer to a lunch check."""

    verdict: Verdict
    score: float | None = Field(description="0 to 100, for the parent; null for a lunch that must not be packed.")
    summary: str
    summary_message: SaidMessage
    nickname: str | None = None
    standard: StandardUsed
    items: list[CheckedItem]
    findings: list[Finding]
    totals: dict[str, Total]
    allergens: list[AllergenFinding]
    handling: list[HandlingFinding]
    energy_need: EnergyNeed | None
    changes: list[Change]
    cautions: list[str]
    caution_messages: list[SaidMessage]


class AgeGroupShown(Told):
    """One age group of a standard."""

    id: str
    title: str
    from_age_months: int
    below_age_months: int
    source: str
    source_status: SourceStatus


class StandardHead(Told):
    """One standard in brief."""

    id: str
    kind: Literal["targets", "frequencies"] = Field(
        description="targets: amounts, for a lunch or a week; frequencies: portions and kinds, for a week only."
    )
    title: str
    jurisdiction: str
    citation: str
    about: str
    complete: Literal["complete", "partial"]
    missing: list[str]
    historical: bool
    first_day: str
    last_day: str | None
    checked_until: str | None
    age_groups: list[AgeGroupShown]


class StandardList(Told):
    """All standards."""

    items: list[StandardHead]
    next: str | None


class TargetShown(Told):
    """One target as it stands on a day."""

    id: str
    label: str
    at_least: float | None
    at_most: float | None
    exclusive: bool
    unit: str
    basis: str
    wanted: str
    weight: float
    distance_percent: float
    source: str
    source_status: SourceStatus
    note: str


class ProductRuleShown(Told):
    """A limit on one product."""

    id: str
    label: str
    applies_to: list[str]
    measure: str
    at_most: float
    per_grams: float
    source: str
    source_status: SourceStatus


class MilkRuleShown(Told):
    """The kinds of milk for an age group."""

    id: str
    label: str
    allowed: list[str]
    source: str
    source_status: SourceStatus


class FrequencyShown(Told):
    """One rule of frequencies and portions."""

    id: str
    label: str
    counts: str | None
    unit: str
    period: Literal["day", "week", "three_weeks"]
    at_least: int | None
    at_most: int | None
    whole_day: bool
    wanted: str
    note: str
    source: str
    source_status: SourceStatus


class RulesOfGroup(Told):
    """The rules in force for one age group."""

    id: str
    targets: list[TargetShown]
    week_targets: list[TargetShown]
    product_rules: list[ProductRuleShown]
    milk_rules: list[MilkRuleShown]
    frequencies: list[FrequencyShown]


class StandardReply(StandardHead):
    """One standard with the rules in force on a day."""

    on: str
    in_force: list[RulesOfGroup]
