"""The published shapes of a lunch check and of the standards."""

from typing import Literal

from pydantic import Field

from service.api.allergens.replies import AllergenFinding
from service.api.replies import AsCode, AsCodes, HowKnown, OfItem, ReplyModel, Said, Source
from service.jobs.word_lists import Basis, Coverage, HandlingStatus, Period, SourceStatus, StandardKind, Status, Verdict


class StandardUsed(ReplyModel):
    """The standard, age group and day a lunch was checked against."""

    id: str = Field(description="Id of the standard, as GET /v1/standards lists it.")
    title: str = Field(description="Title of the standard, in the language of its publisher or in English.")
    citation: str = Field(description="The publication, as one would cite it.")
    about: str = Field(description="What it is, in a sentence.")
    historical: bool = Field(description="No longer in force.")
    age_group: str = Field(description="Id of the age group the child falls in.")
    age_group_title: str = Field(description="Title of the age group.")
    on: str = Field(description="The day whose rules were used, YYYY-MM-DD.", json_schema_extra={"format": "date"})


class CheckedItem(OfItem):
    """One item as it was understood."""

    food: str = Field(description="Id of the food; of an own food, recipe or label its kind or name.")
    name: str = Field(description="Name of the food, for people.")
    quantity: float = Field(description="How many of `unit`.")
    unit: str = Field(description="g, or the household unit of the food that quantity counts, e.g. slice.")
    grams: float = Field(description="Weight of the item in grams.")
    form: str | None = Field(description="How it is cut; null: not given.")
    credits: dict[str, float] = Field(description="Food-group credits after rounding, cups or ounce equivalents.")
    energy_kcal: float | None = Field(description="Energy in kcal; null: not known.")
    source: str = Field(description="Publication that the figures of the food come from.")


class Finding(OfItem, Said):
    """One target or product rule, judged."""

    id: str = Field(description="Id of the target or rule in its standard.")
    kind: Literal["target", "product_rule"] = Field(
        description="target: a bound on the whole lunch; product_rule: a limit on one product, the kind of milk, "
        "or our own rule that sweets and snacks fill no minimum of energy."
    )
    label: str = Field(description="What it is called, for people.")
    status: Status = Field(description="How the amount stands to the bounds.")
    amount: float | None = Field(
        description="The amount found, in `unit`; unknown parts count as nothing; null: no amount applies."
    )
    amount_low: float | None = Field(description="The least the amount can be, in `unit`; null: no amount applies.")
    amount_high: float | None = Field(description="The most the amount can be, in `unit`; null: no upper end is known.")
    at_least: float | None = Field(description="Lower bound in `unit`; null: none.")
    at_most: float | None = Field(description="Upper bound in `unit`; null: none.")
    exclusive: bool = Field(description="True: an amount equal to the bound does not meet it.")
    unit: str = Field(description="Unit of the amounts and bounds, e.g. g, mg, kcal, cup.")
    basis: Basis = Field(description="What the bounds hold for.")
    firm: bool = Field(
        description="True: each lunch by itself must meet it; false: a mean over the week may even it out."
    )
    counts: bool = Field(description="True: this finding makes the lunch one to adjust.")
    source: Source
    source_status: HowKnown


class Total(ReplyModel):
    """The sum of one measure over the lunch."""

    amount: float = Field(description="The sum in `unit`; unknown parts count as nothing.")
    low: float = Field(description="The least the sum can be, in `unit`.")
    high: float | None = Field(description="The most the sum can be, in `unit`; null: no upper end is known.")
    unit: str = Field(description="Unit of the amounts, e.g. g, mg, kcal, cup.")
    complete: bool = Field(description="True: every item has a figure for this measure.")


class HandlingFound(Said):
    """A choking form, or cold or hot holding."""

    id: str = Field(description="Id of the choking rule or the holding rule.")
    status: HandlingStatus = Field(description="How the items stand to the guidance.")
    items: list[str] = Field(description="Names of the items that it concerns.")
    brief: str = Field(description="The finding in a few words of English.")
    brief_message: AsCode
    source: Source
    source_status: HowKnown


class HandlingFinding(HandlingFound):
    """A choking form, or cold or hot holding, of items of the request."""

    places: list[int] = Field(description="Places of the items in the request, from 0.")
    item_ids: list[str | None] = Field(description="Your own ids for them, in the order of places.")


class EnergyNeed(Said):
    """One child's estimated need, next to the age group's range."""

    day_kcal: float = Field(description="The day's energy need in kcal.")
    lunch_percent: float = Field(description="Lunch's share of the day's energy, in percent.")
    lunch_kcal: float = Field(description="Lunch's part of the day's energy need, in kcal.")
    source: Source
    source_status: HowKnown
    share_source: str = Field(description="Where the share comes from.")
    share_status: SourceStatus = Field(description="How well the source of the share is known.")


class Change(OfItem, Said):
    """One single change and what it fixes."""

    kind: Literal["portion", "swap", "add", "remove", "form", "read", "keep"] = Field(
        description="What the change does: another portion, one food for another, a food added or removed, another form, "
        "a label read, or the lunch kept cold."
    )
    instead_of: str | None = Field(description="Id of the food that it takes the place of; null: none.")
    instead_of_name: str | None = Field(description="Name of the food that it takes the place of; null: none.")
    food: str | None = Field(description="Id of the food; of an own food, recipe or label its kind or name.")
    name: str | None = Field(description="Name of the food, for people.")
    quantity: float | None = Field(description="How many of `unit` to pack after the change.")
    unit: str | None = Field(description="g, or the household unit of the food that quantity counts.")
    grams: float | None = Field(description="Weight after the change, in grams.")
    form: str | None = Field(description="How the food that comes in is cut; the change rests on it.")
    mends: list[str] = Field(description="Ids of the findings that it puts right.")
    mends_labels: list[str] = Field(description="What the findings that it puts right are called.")
    less_of: list[str] = Field(
        description="What the lunch has far too much of, and clearly less of after the change, though still too much."
    )
    score_after: float | None = Field(
        description="The score after the change, 0 to 100; null where the lunch must still not be packed."
    )


class YardstickHead(Said):
    """A yardstick, and how many of its rows are kept."""

    id: str = Field(description="Id of the yardstick, as GET /v1/standards lists it.")
    title: str = Field(description="Title of the yardstick.")
    citation: str = Field(description="The publication, as one would cite it.")
    about: str = Field(description="What it is and what it does not say of a lunch.")
    age_group: str | None = Field(
        description="Id of the age group the child falls in; null: none for its age or the day."
    )
    age_group_title: str | None = Field(description="Title of the age group; null: none for its age or the day.")


class YardstickShown(YardstickHead):
    """A yardstick beside one lunch."""

    findings: list[Finding] = Field(description="Its rows, judged; empty: it has none for the child's age or the day.")


class LunchCheckReply(ReplyModel):
    """The answer to a lunch check."""

    verdict: Verdict = Field(description="The worst of all findings: do_not_pack, check_label, adjust or pack.")
    score: float | None = Field(
        description="0 to 100, for the parent: 100 where every rule is kept and no sweet or snack is in it; null for a lunch that must not be packed."
    )
    score_low: float | None = Field(
        description="The lowest the score can be, given what is not known (figures, how it is kept); null where there is no score."
    )
    score_high: float | None = Field(description="The highest it can be; the same as the score where all is known.")
    summary: str = Field(description="The answer in one sentence of English.")
    summary_message: AsCode
    nickname: str | None = Field(None, description="The nickname as it was sent; null: none.")
    standard: StandardUsed = Field(description="The standard it was held against.")
    items: list[CheckedItem] = Field(
        description="The items of the lunch as they were understood, in an order of our own: `item` is the place in the request."
    )
    findings: list[Finding] = Field(description="One for each target and product rule of the standard.")
    totals: dict[str, Total] = Field(
        description="Sums over the lunch, by the id of the measure (energy_kcal, sodium_mg ...)."
    )
    allergens: list[AllergenFinding] = Field(description="What was found of each avoided allergen.")
    handling: list[HandlingFinding] = Field(description="Choking forms, and cold and hot holding.")
    energy_need: EnergyNeed | None = Field(
        description="The child's estimated energy need; null where it was not asked for."
    )
    changes: list[Change] = Field(
        description="Single changes that put findings right; empty: none was found or asked for."
    )
    yardsticks: list[YardstickShown] = Field(
        description="The yardsticks that were asked for, each with its rows judged: they change nothing of the answer."
    )
    cautions: list[str] = Field(description="What to bear in mind, in sentences of English.")
    caution_messages: AsCodes


class AgeGroupShown(ReplyModel):
    """One age group of a standard."""

    id: str = Field(description="Id of the age group; give it as age_group in a request.")
    title: str = Field(description="Title of the age group, for people.")
    from_age_months: int = Field(description="Youngest age of the group, in months.")
    below_age_months: int = Field(description="The group ends below this age, in months.")
    source: Source
    source_status: HowKnown


class StandardHead(ReplyModel):
    """One standard in brief."""

    id: str = Field(description="Id of the standard; give it as standard in a request.")
    kind: StandardKind = Field(
        description="targets: amounts, for a lunch or a week; frequencies: portions and kinds, for a week only."
    )
    title: str = Field(description="Title of the standard.")
    jurisdiction: str = Field(description="Country or part of a country whose rules these are, e.g. US.")
    citation: str = Field(description="The publication, as one would cite it.")
    about: str = Field(description="What it is, in a sentence.")
    complete: Coverage = Field(description="Whether all rules of the publication are covered.")
    missing: list[str] = Field(description="Rules of the publication that are not covered, a sentence each.")
    historical: bool = Field(description="True: no longer in force.")
    yardstick: bool = Field(
        description="True: general advice that a lunch is shown beside; give its id among the yardsticks of a request or a child."
    )
    first_day: str = Field(
        description="First day on which it is in force, YYYY-MM-DD.", json_schema_extra={"format": "date"}
    )
    last_day: str | None = Field(
        description="Last day on which it is in force, YYYY-MM-DD; null: no end is known.",
        json_schema_extra={"format": "date"},
    )
    checked_until: str | None = Field(
        description="Last day up to which its rules were looked up, YYYY-MM-DD; null: not recorded.",
        json_schema_extra={"format": "date"},
    )
    age_groups: list[AgeGroupShown] = Field(description="The age groups of the standard.")


class StandardList(ReplyModel):
    """All standards."""

    items: list[StandardHead] = Field(description="The standards, each in brief.")
    next: str | None = Field(description="Give it as cursor for the next page; null: this was the last.")


class TargetShown(ReplyModel):
    """One target as it stands on a day."""

    id: str = Field(description="Id of the target; findings name it by this.")
    label: str = Field(description="What it is called, for people.")
    at_least: float | None = Field(description="Lower bound in `unit`; null: none.")
    at_most: float | None = Field(description="Upper bound in `unit`; null: none.")
    exclusive: bool = Field(description="True: an amount equal to the bound does not meet it.")
    unit: str = Field(description="Unit of the bounds, e.g. g, mg, kcal, cup.")
    basis: str = Field(description="What the bounds hold for: lunch, school_day, week_mean, week_total or product.")
    wanted: str = Field(description="What it asks for, in words.")
    weight: float = Field(description="How much it counts in the score, beside the weights of the other targets.")
    distance_percent: float = Field(
        description="At this distance from the bound, in percent of it, nothing is left of the score."
    )
    source: Source
    source_status: HowKnown
    note: str = Field(description="A remark; empty: none.")


class ProductRuleShown(ReplyModel):
    """A limit on one product."""

    id: str = Field(description="Id of the rule; findings name it by this.")
    label: str = Field(description="What it is called, for people.")
    applies_to: list[str] = Field(description="Kinds of products it speaks of.")
    measure: str = Field(description="Id of the measure that is limited, e.g. sugars_g.")
    at_most: float = Field(description="Upper bound, in the unit of the measure.")
    per_grams: float = Field(description="The bound is for this many grams of the product.")
    source: Source
    source_status: HowKnown


class MilkRuleShown(ReplyModel):
    """The kinds of milk for an age group."""

    id: str = Field(description="Id of the rule; findings name it by this.")
    label: str = Field(description="What it is called, for people.")
    allowed: list[str] = Field(description="Kinds of milk that are allowed.")
    source: Source
    source_status: HowKnown


class FrequencyShown(ReplyModel):
    """One rule of frequencies and portions."""

    id: str = Field(description="Id of the rule; findings name it by this.")
    label: str = Field(description="What it is called, for people.")
    counts: str | None = Field(description="The food group that is counted; null: not a food group.")
    unit: str = Field(description="What at_least and at_most count: portions, items, days ...")
    period: Period = Field(description="The time over which it counts.")
    at_least: int | None = Field(description="Least number in `unit`; null: none.")
    at_most: int | None = Field(description="Greatest number in `unit`; null: none.")
    whole_day: bool = Field(description="True: it holds for the whole school day, of which a lunch is one part.")
    wanted: str = Field(description="What it asks for, in words.")
    note: str = Field(description="A remark; empty: none.")
    source: Source
    source_status: HowKnown


class RulesOfGroup(ReplyModel):
    """The rules in force for one age group."""

    id: str = Field(description="Id of the age group.")
    targets: list[TargetShown] = Field(description="Targets of a single lunch or of each school day.")
    week_targets: list[TargetShown] = Field(description="Targets of a week's mean or total.")
    product_rules: list[ProductRuleShown] = Field(description="Limits on single products.")
    milk_rules: list[MilkRuleShown] = Field(description="Kinds of milk that are allowed.")
    frequencies: list[FrequencyShown] = Field(description="How often, or in which portions, foods are given.")


class StandardReply(StandardHead):
    """One standard with the rules in force on a day."""

    on: str = Field(description="The day whose rules are shown, YYYY-MM-DD.", json_schema_extra={"format": "date"})
    in_force: list[RulesOfGroup] = Field(description="The rules in force on the day, by age group.")
