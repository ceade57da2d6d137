"""The published shapes of a lunch check and of the standards."""

from typing import Literal

from pydantic import Field

from service.api.allergens.replies import AllergenFinding
from service.api.replies import OfItem, ReplyModel, Said, SaidMessage, SourceStatus, Status, Verdict


class StandardUsed(ReplyModel):
    """The standard, age group and day a lunch was checked against."""

    id: str = Field(description="Its id.")
    title: str = Field(description="Its title.")
    citation: str = Field(description="How to cite it.")
    about: str = Field(description="What it is, in a sentence.")
    historical: bool = Field(description="No longer in force.")
    age_group: str = Field(description="Id of the age group.")
    age_group_title: str = Field(description="Title of the age group.")
    on: str = Field(description="The day, YYYY-MM-DD.", json_schema_extra={"format": "date"})


class CheckedItem(OfItem):
    """One item as it was understood."""

    food: str = Field(description="Id of the food; of an own food, recipe or label its kind or name.")
    name: str = Field(description="Its name.")
    quantity: float = Field(description="How many units.")
    unit: str = Field(description="The unit of its amounts.")
    grams: float = Field(description="Weight in grams.")
    form: str | None = Field(description="How it is cut; null: not given.")
    credits: dict[str, float] = Field(description="Food-group credits after rounding, cups or ounce equivalents.")
    energy_kcal: float | None = Field(description="Energy in kcal; null: not known.")
    source: str = Field(description="Where its figures come from.")


class Finding(OfItem, Said):
    """One target or product rule, judged."""

    id: str = Field(description="Its id.")
    kind: Literal["target", "product_rule"] = Field(description="What kind it is.")
    label: str = Field(description="What it is called, for people.")
    status: Status = Field(description="Its status.")
    amount: float | None = Field(description="In the unit given; unknown parts counted as nothing.")
    amount_low: float | None = Field(description="The least it can be, in the unit given; null: not known.")
    amount_high: float | None = Field(description="null: no upper end is known.")
    at_least: float | None = Field(description="Lower bound in the unit given; null: none.")
    at_most: float | None = Field(description="Upper bound in the unit given; null: none.")
    exclusive: bool = Field(description="The bound itself does not count as met.")
    unit: str = Field(description="The unit of its amounts.")
    basis: Literal["lunch", "school_day", "week_mean", "week_total", "product"] = Field(
        description="What it applies to or is based on."
    )
    firm: bool = Field(description="One lunch by itself must meet it.")
    counts: bool = Field(description="It makes this lunch one to adjust.")
    source: str = Field(description="Where it comes from: publication and place.")
    source_status: SourceStatus = Field(
        description="How well the source is known: read, second_hand, memory, estimated or proposed."
    )


class Total(ReplyModel):
    """The sum of one measure over the lunch."""

    amount: float = Field(description="In the unit given.")
    low: float = Field(description="The least it can be, in the unit given.")
    high: float | None = Field(description="The most it can be, in the unit given; null: no upper end is known.")
    unit: str = Field(description="The unit of its amounts.")
    complete: bool = Field(description="Every item has a figure.")


class HandlingFound(Said):
    """A choking form, or cold or hot holding."""

    id: str = Field(description="Its id.")
    status: Literal["in_order", "fix", "do_not_pack", "unknown"] = Field(description="Its status.")
    items: list[str] = Field(description="The items.")
    brief: str = Field(description="In a few words.")
    brief_message: SaidMessage = Field(description="The same as a code and its values.")
    source: str = Field(description="Where it comes from: publication and place.")
    source_status: SourceStatus = Field(
        description="How well the source is known: read, second_hand, memory, estimated or proposed."
    )


class HandlingFinding(HandlingFound):
    """A choking form, or cold or hot holding, of items of the request."""

    places: list[int] = Field(description="Places of the items in the request, from 0.")
    item_ids: list[str | None] = Field(description="Your own ids for them, in the order of places.")


class EnergyNeed(Said):
    """One child's estimated need, next to the age group's range."""

    day_kcal: float = Field(description="The day's energy need in kcal.")
    lunch_percent: float = Field(description="Lunch's share of the day in percent.")
    lunch_kcal: float = Field(description="Lunch's part of the need in kcal.")
    source: str = Field(description="Where it comes from: publication and place.")
    source_status: SourceStatus = Field(
        description="How well the source is known: read, second_hand, memory, estimated or proposed."
    )
    share_source: str = Field(description="Where the share comes from.")
    share_status: SourceStatus = Field(description="How well the source of the share is known.")


class Change(OfItem, Said):
    """One single change and what it fixes."""

    kind: Literal["portion", "swap", "add", "remove", "form"] = Field(description="What kind it is.")
    instead_of: str | None = Field(description="Id of the food that it takes the place of; null: none.")
    instead_of_name: str | None = Field(description="Name of the food that it takes the place of; null: none.")
    food: str | None = Field(description="Id of the food; of an own food, recipe or label its kind or name.")
    name: str | None = Field(description="Its name.")
    quantity: float | None = Field(description="How many units.")
    unit: str | None = Field(description="The unit of its amounts.")
    grams: float | None = Field(description="Weight in grams.")
    form: str | None = Field(description="How the food that comes in is cut; the change rests on it.")
    mends: list[str] = Field(description="Ids of the findings it fixes.")
    mends_labels: list[str] = Field(description="What the findings that it fixes are called.")
    score_after: float = Field(description="The score after the change, 0 to 100.")


class LunchCheckReply(ReplyModel):
    """The answer to a lunch check."""

    verdict: Verdict = Field(description="The worst of all findings: do_not_pack, check_label, adjust or pack.")
    score: float | None = Field(description="0 to 100, for the parent; null for a lunch that must not be packed.")
    summary: str = Field(description="The answer in one sentence of English.")
    summary_message: SaidMessage = Field(description="The same as a code and its values.")
    nickname: str | None = Field(None, description="The nickname as it was sent; null: none.")
    standard: StandardUsed = Field(description="The standard it was checked against.")
    items: list[CheckedItem] = Field(description="The items.")
    findings: list[Finding] = Field(description="One for each target and rule.")
    totals: dict[str, Total] = Field(description="Sums over the lunch, by measure.")
    allergens: list[AllergenFinding] = Field(description="What was found of each avoided allergen.")
    handling: list[HandlingFinding] = Field(description="Choking forms, and cold and hot holding.")
    energy_need: EnergyNeed | None = Field(
        description="The child's estimated energy need; null where it was not asked for."
    )
    changes: list[Change] = Field(description="The smallest changes that were found.")
    cautions: list[str] = Field(description="What to bear in mind, in sentences of English.")
    caution_messages: list[SaidMessage] = Field(description="The same as codes and their values, in the same order.")


class AgeGroupShown(ReplyModel):
    """One age group of a standard."""

    id: str = Field(description="Its id.")
    title: str = Field(description="Its title.")
    from_age_months: int = Field(description="Youngest age in months.")
    below_age_months: int = Field(description="Age in months from which it no longer applies.")
    source: str = Field(description="Where it comes from: publication and place.")
    source_status: SourceStatus = Field(
        description="How well the source is known: read, second_hand, memory, estimated or proposed."
    )


class StandardHead(ReplyModel):
    """One standard in brief."""

    id: str = Field(description="Its id.")
    kind: Literal["targets", "frequencies"] = Field(
        description="targets: amounts, for a lunch or a week; frequencies: portions and kinds, for a week only."
    )
    title: str = Field(description="Its title.")
    jurisdiction: str = Field(description="Whose rules.")
    citation: str = Field(description="How to cite it.")
    about: str = Field(description="What it is, in a sentence.")
    complete: Literal["complete", "partial"] = Field(description="Whether all of it is known or covered.")
    missing: list[str] = Field(description="What is missing.")
    historical: bool = Field(description="No longer in force.")
    first_day: str = Field(description="First day, YYYY-MM-DD.", json_schema_extra={"format": "date"})
    last_day: str | None = Field(
        description="Last day, YYYY-MM-DD; null: no end is known.", json_schema_extra={"format": "date"}
    )
    checked_until: str | None = Field(
        description="Last day for which it was checked, YYYY-MM-DD; null: not said.",
        json_schema_extra={"format": "date"},
    )
    age_groups: list[AgeGroupShown] = Field(description="Its age groups.")


class StandardList(ReplyModel):
    """All standards."""

    items: list[StandardHead] = Field(description="The items.")
    next: str | None = Field(description="Give it as cursor for the next page; null: this was the last.")


class TargetShown(ReplyModel):
    """One target as it stands on a day."""

    id: str = Field(description="Its id.")
    label: str = Field(description="What it is called, for people.")
    at_least: float | None = Field(description="Lower bound in the unit given; null: none.")
    at_most: float | None = Field(description="Upper bound in the unit given; null: none.")
    exclusive: bool = Field(description="The bound itself does not count as met.")
    unit: str = Field(description="The unit of its amounts.")
    basis: str = Field(description="What it applies to or is based on.")
    wanted: str = Field(description="What it asks for, in words.")
    weight: float = Field(description="How much it counts in the score.")
    distance_percent: float = Field(
        description="At this distance from the bound, in percent of it, nothing is left of the score."
    )
    source: str = Field(description="Where it comes from: publication and place.")
    source_status: SourceStatus = Field(
        description="How well the source is known: read, second_hand, memory, estimated or proposed."
    )
    note: str = Field(description="A remark; empty: none.")


class ProductRuleShown(ReplyModel):
    """A limit on one product."""

    id: str = Field(description="Its id.")
    label: str = Field(description="What it is called, for people.")
    applies_to: list[str] = Field(description="Kinds of products it speaks of.")
    measure: str = Field(description="Id of the measure.")
    at_most: float = Field(description="Upper bound in the unit given; null: none.")
    per_grams: float = Field(description="The bound is for so many grams.")
    source: str = Field(description="Where it comes from: publication and place.")
    source_status: SourceStatus = Field(
        description="How well the source is known: read, second_hand, memory, estimated or proposed."
    )


class MilkRuleShown(ReplyModel):
    """The kinds of milk for an age group."""

    id: str = Field(description="Its id.")
    label: str = Field(description="What it is called, for people.")
    allowed: list[str] = Field(description="What is allowed.")
    source: str = Field(description="Where it comes from: publication and place.")
    source_status: SourceStatus = Field(
        description="How well the source is known: read, second_hand, memory, estimated or proposed."
    )


class FrequencyShown(ReplyModel):
    """One rule of frequencies and portions."""

    id: str = Field(description="Its id.")
    label: str = Field(description="What it is called, for people.")
    counts: str | None = Field(description="What it counts.")
    unit: str = Field(description="The unit of its amounts.")
    period: Literal["day", "week", "three_weeks"] = Field(description="Over which time.")
    at_least: int | None = Field(description="Lower bound in the unit given; null: none.")
    at_most: int | None = Field(description="Upper bound in the unit given; null: none.")
    whole_day: bool = Field(description="Holds for the whole school day.")
    wanted: str = Field(description="What it asks for, in words.")
    note: str = Field(description="A remark; empty: none.")
    source: str = Field(description="Where it comes from: publication and place.")
    source_status: SourceStatus = Field(
        description="How well the source is known: read, second_hand, memory, estimated or proposed."
    )


class RulesOfGroup(ReplyModel):
    """The rules in force for one age group."""

    id: str = Field(description="Its id.")
    targets: list[TargetShown] = Field(description="The targets.")
    week_targets: list[TargetShown] = Field(description="Targets of a week's mean or total.")
    product_rules: list[ProductRuleShown] = Field(description="Limits on single products.")
    milk_rules: list[MilkRuleShown] = Field(description="Kinds of milk.")
    frequencies: list[FrequencyShown] = Field(description="Rules on how often.")


class StandardReply(StandardHead):
    """One standard with the rules in force on a day."""

    on: str = Field(description="The day, YYYY-MM-DD.", json_schema_extra={"format": "date"})
    in_force: list[RulesOfGroup] = Field(description="The rules in force on the day, by age group.")
