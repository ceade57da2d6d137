"""The published shape of the replies: what the API documentation shows and the tests hold replies to.

Replies are built as plain dictionaries for speed; a test validates each example and many made-up
replies against these models, unknown keys refused.
"""

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

Verdict = Literal["do_not_pack", "check_label", "adjust", "pack"]
Outcome = Literal["avoid", "may_contain", "check_label", "not_declared"]
Status = Literal["met", "short", "over", "unknown", "not_applicable"]
SourceStatus = Literal["read", "second_hand", "memory", "estimated", "proposed"]


class Told(BaseModel):
    """What every reply model has in common: no other keys."""

    model_config = ConfigDict(extra="forbid", defer_build=True)


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


class CheckedItem(Told):
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


class Finding(Told):
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
    sentence: str


class Total(Told):
    """The sum of one measure over the lunch."""

    amount: float
    low: float
    high: float | None
    unit: str
    complete: bool = Field(description="Every item has a figure.")


class AllergenFinding(Told):
    """One item against one avoided allergen. No outcome is a promise."""

    food: str
    name: str
    allergen: str
    avoided_by: Literal["child", "setting"]
    threshold: Literal["contains", "may_contain"]
    outcome: Outcome
    found: str = Field(description="The allergen id that the evidence speaks of.")
    level: Literal["contains", "may_contain", "free", "unknown"]
    basis: str
    evidence: str
    do_not_pack: bool


class HandlingFinding(Told):
    """A choking form, or cold or hot holding."""

    id: str
    status: Literal["in_order", "fix", "do_not_pack", "unknown"]
    items: list[str]
    brief: str
    sentence: str
    source: str
    source_status: SourceStatus


class EnergyNeed(Told):
    """One child's estimated need, beside the age group's range."""

    day_kcal: float
    lunch_percent: float
    lunch_kcal: float
    source: str
    source_status: SourceStatus
    share_source: str
    share_status: SourceStatus
    sentence: str


class Change(Told):
    """One single change and what it mends."""

    kind: Literal["portion", "swap", "add", "remove", "form"]
    code: str = Field(description="What the sentence says, for a front end that says it in its own words.")
    params: dict[str, Any] = Field(description="What goes into the sentence.")
    sentence: str
    instead_of: str | None
    instead_of_name: str | None
    food: str | None
    name: str | None
    quantity: float | None
    unit: str | None
    grams: float | None
    form: str | None = Field(description="How the food that comes in is cut; the change rests on it.")
    item: int | None = Field(
        description="Place of the item that goes or changes among the items of this reply, from 0."
    )
    mends: list[str] = Field(description="Ids of the findings it mends.")
    mends_labels: list[str]
    score_after: float


class LunchCheckReply(Told):
    """The answer to a lunch check."""

    verdict: Verdict
    score: float | None = Field(description="0 to 100, for the parent; null for a lunch that must not be packed.")
    summary: str
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


class ScreeningRow(Told):
    """One child and one item."""

    nickname: str
    item: str
    outcome: Outcome
    do_not_pack: bool
    findings: list[AllergenFinding]


class MakingStep(Told):
    """One step in the order of making."""

    item: str
    handles: list[str] = Field(description="Avoided allergens it holds, or may hold.")
    clean_before: list[str] = Field(description="Allergens to clean away before this step.")


class ScreeningReply(Told):
    """The answer to an allergen screening."""

    rows: list[ScreeningRow]
    making_order: list[MakingStep]
    making_order_basis: str
    cautions: list[str]


class FoundFood(Told):
    """One food found by a search."""

    id: str
    name: str
    kind: Literal["lunch_food", "recipe", "generic_food", "own_food", "own_recipe"]
    category: str
    usual_unit: str
    usual_grams: float


class FoodPage(Told):
    """One page of a search."""

    items: list[FoundFood]
    next: str | None = Field(description="Give it as cursor for the next page; null: this was the last.")


class FoodValue(Told):
    """One value per 100 g."""

    amount: float | None
    unit: str
    how: str


class Portion(Told):
    """One household portion."""

    unit: str
    grams: float
    source: str


class CreditShown(Told):
    """One way a food credits, per 100 g and before rounding."""

    credit_as: str
    per_100g: dict[str, float]


class ContainmentShown(Told):
    """What is known of one allergen in a food."""

    level: Literal["contains", "may_contain", "free", "unknown"]
    basis: str
    evidence: str


class StorageTime(Told):
    """How long a class of food keeps in one place; days_from 0 where one figure is printed."""

    region: str
    place: Literal["fridge", "freezer", "pantry"]
    days_from: float
    days_to: float
    source: str
    source_status: SourceStatus
    note: str


class StorageShown(Told):
    """A storage class; the stricter region counts."""

    id: str
    title: str
    note: str
    times: list[StorageTime]


class FoodReply(Told):
    """Everything known of one food."""

    id: str
    name: str
    kind: Literal["lunch_food", "recipe", "generic_food", "own_food", "own_recipe"]
    category: str
    search_words: list[str]
    source: str
    editions: list[str]
    per_100g: dict[str, FoodValue]
    portions: list[Portion]
    credits: list[CreditShown]
    allergens: dict[str, ContainmentShown]
    other_allergens: ContainmentShown
    forms: list[str]
    choking_rule: str | None
    perishable: bool | None
    storage: StorageShown | None
    freezing: str | None
    product_kind: str | None
    note: str
    kept: dict[str, Any] | None = Field(
        None, description="Only of an own food or recipe: what was kept of it, with its times."
    )


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


class AllergenShown(Told):
    """One allergen of the vocabulary."""

    id: str
    name: str
    gs1_code: str | None = Field(description="GS1 AllergenTypeCode value.")
    members: list[str]
    listed: Literal["mandatory", "recommended"] | None = Field(
        description="How the jurisdiction asked about lists it on that day; null: not listed, or none asked about."
    )
    species: list[str] = Field(description="Ids the law names under this heading, where it narrows or widens it.")
    pending: Literal["mandatory", "recommended"] | None = Field(description="A duty in draft, not yet adopted.")
    law: str | None
    source: str | None
    source_status: SourceStatus | None


class AllergenList(Told):
    """The vocabulary, and one jurisdiction's list if asked for."""

    jurisdiction: str | None
    on: str | None
    jurisdictions: list[str]
    items: list[AllergenShown]
    next: str | None


class ChokingLimitShown(Told):
    """Up to which age guidance speaks of a rule."""

    region: str
    below_age_months: int
    never: bool
    allowed_forms: list[str] | None = Field(description="Forms this guidance gives, where they differ from the rule's.")
    source: str
    source_status: SourceStatus


class ChokingRuleShown(Told):
    """One choking rule."""

    id: str
    foods: str
    risky_forms: list[str]
    allowed_forms: list[str]
    prepare: str
    limits: list[ChokingLimitShown]


class ChokingRuleList(Told):
    """All choking rules."""

    items: list[ChokingRuleShown]
    next: str | None


class Health(Told):
    """Whether the service can answer."""

    status: Literal["ok"]
    version: str
    lunch_foods: int
    generic_foods: int
    standards: int


class ProblemError(Told):
    """One fault of a request."""

    pointer: str = Field(description="JSON pointer into the body, or the parameter's name.")
    value: str
    detail: str
    remedy: str
    slug: str


class Problem(Told):
    """Problem details (RFC 9457)."""

    type: str
    title: str
    status: int
    detail: str
    instance: str | None = None
    errors: list[ProblemError] = []
