"""The published shape of a week's summary."""

from typing import Literal

from pydantic import Field

from service.api.allergens.replies import AllergenOfFood
from service.api.lunch.replies import HandlingFound, StandardUsed, Total
from service.api.replies import ReplyModel, Said, SaidMessage, SourceStatus, Status

DayKind = Literal["packed", "bought", "none", "missing"]


class WeekStandard(StandardUsed):
    """The standard a week was checked against."""

    kind: Literal["targets", "frequencies"] = Field(description="What kind it is.")


class WeekItemShown(ReplyModel):
    """One item of a day."""

    food: str = Field(description="Id of the food; of an own food, recipe or label its kind or name.")
    name: str = Field(description="Its name.")
    quantity: float = Field(description="How many units.")
    unit: str = Field(description="The unit of its amounts.")
    grams: float = Field(description="Weight in grams.")
    eaten_grams: float = Field(description="Weight eaten, in grams.")


class WeekDayShown(ReplyModel):
    """One day: what it was, whether it counts, and its sums."""

    date: str = Field(description="The day, YYYY-MM-DD.", json_schema_extra={"format": "date"})
    weekday: str = Field(description="Its day of the week.")
    kind: DayKind = Field(description="What kind it is.")
    counted: bool = Field(description="Whether it counts, or was counted.")
    why: str = Field(description="Why it does not count, or how; empty for an ordinary day.")
    why_message: SaidMessage | None = Field(description="The same as a code and its values.")
    menu: str | None = Field(description="Name of the bought meal; null: none.")
    items: list[WeekItemShown] = Field(description="The items.")
    totals: dict[str, Total] | None = Field(description="Sums over the lunch, by measure.")


class DayOutcome(ReplyModel):
    """What one day came to under a rule of each day."""

    date: str = Field(description="The day, YYYY-MM-DD.", json_schema_extra={"format": "date"})
    status: Status = Field(description="Its status.")
    amount: float = Field(description="In the unit given.")


class WeekFindingShown(Said):
    """One target over the week."""

    id: str = Field(description="Its id.")
    kind: Literal["target"] = Field(description="What kind it is.")
    label: str = Field(description="What it is called, for people.")
    status: Status = Field(description="Its status.")
    amount: float = Field(description="The mean of a day, the week's total, or the worst day, by basis.")
    amount_low: float = Field(description="The least it can be, in the unit given; null: not known.")
    amount_high: float | None = Field(description="null: no upper end is known.")
    at_least: float | None = Field(description="Lower bound in the unit given; null: none.")
    at_most: float | None = Field(description="Upper bound in the unit given; null: none.")
    guide_at_most: float | None = Field(description="The upper end of a printed range: a guide that decides nothing.")
    exclusive: bool = Field(description="The bound itself does not count as met.")
    unit: str = Field(description="The unit of its amounts.")
    basis: Literal["lunch", "school_day", "week_mean", "week_total"] = Field(
        description="What it applies to or is based on."
    )
    share_percent: float | None = Field(description="For a share of one amount in another.")
    over_days: int = Field(description="Over how many days it was judged.")
    school_days: int = Field(description="How many school days.")
    days: list[DayOutcome] = Field(description="Its days.")
    source: str = Field(description="Where it comes from: publication and place.")
    source_status: SourceStatus = Field(
        description="How well the source is known: read, second_hand, memory, estimated or proposed."
    )


class MicronutrientShown(WeekFindingShown):
    """The mean lunch against a third of a day's reference."""

    kind: Literal["day_reference"]  # type: ignore[assignment]
    reference: Literal["RDA", "AI", "RNI"] = Field(description="Which reference value.")
    day_amount: float = Field(description="The reference for a day, in the unit given.")


class FrequencyFindingShown(Said):
    """One rule of frequencies and portions over the week."""

    id: str = Field(description="Its id.")
    kind: Literal["frequency"] = Field(description="What kind it is.")
    label: str = Field(description="What it is called, for people.")
    status: Status = Field(description="Its status.")
    least: float = Field(description="The least it can be.")
    most: float | None = Field(description="null: no upper end is known.")
    at_least: int | None = Field(description="Lower bound in the unit given; null: none.")
    at_most: int | None = Field(description="Upper bound in the unit given; null: none.")
    unit: Literal["portions", "items", "days", "kinds", "grams_each", "ml_each", "accompanied", "kitchen"] = Field(
        description="The unit of its amounts."
    )
    period: Literal["day", "week", "three_weeks"] = Field(description="Over which time.")
    wanted: str = Field(description="What it asks for, in words.")
    whole_day: bool = Field(description="Holds for the whole school day, of which only the lunch is seen.")
    over_days: int = Field(description="Over how many days it was judged.")
    school_days: int = Field(description="How many school days.")
    off_days: list[str] = Field(description="Days that do not keep it.")
    unsure_days: list[str] = Field(description="Days for which this is not known.")
    seen: list[str] = Field(description="What was counted.")
    source: str = Field(description="Where it comes from: publication and place.")
    source_status: SourceStatus = Field(
        description="How well the source is known: read, second_hand, memory, estimated or proposed."
    )


class WeekProductFinding(Said):
    """A limit on one product or the kind of milk, with the days it was packed."""

    id: str = Field(description="Its id.")
    kind: Literal["product_rule"] = Field(description="What kind it is.")
    label: str = Field(description="What it is called, for people.")
    status: Status = Field(description="Its status.")
    item: str = Field(description="The item: its key or name.")
    dates: list[str] = Field(description="The days, YYYY-MM-DD.")
    amount: float | None = Field(description="In the unit given.")
    at_most: float | None = Field(description="Upper bound in the unit given; null: none.")
    unit: str = Field(description="The unit of its amounts.")
    source: str = Field(description="Where it comes from: publication and place.")
    source_status: SourceStatus = Field(
        description="How well the source is known: read, second_hand, memory, estimated or proposed."
    )


class WeekMeasure(ReplyModel):
    """One measure over the days that count."""

    label: str = Field(description="What it is called, for people.")
    unit: str = Field(description="The unit of its amounts.")
    total: float = Field(description="The sum over the days that count, in the unit given.")
    mean: float = Field(description="The mean of a day, in the unit given.")
    mean_low: float = Field(description="The least the mean can be.")
    mean_high: float | None = Field(description="The most the mean can be; null: no upper end is known.")
    complete: bool = Field(description="Whether all of it is known or covered.")


class Repeat(ReplyModel):
    """A kind that came on more than one day."""

    group: Literal["fruit", "vegetable", "main"] = Field(description="Id of the choice group.")
    kind: str = Field(description="What kind it is.")
    days: int = Field(description="On how many days.")


class VarietyShown(Said):
    """Kinds of the week, what came again, what is new."""

    fruit: list[str] = Field(description="Kinds of fruit.")
    vegetables: list[str] = Field(description="Kinds of vegetables.")
    mains: list[str] = Field(description="Main items.")
    repeats: list[Repeat] = Field(description="Kinds that came on more than one day.")
    new_foods: list[str] | None = Field(description="null: no earlier day was given.")
    unsorted: list[str] = Field(description="Items of which nobody said what they count as.")


class WeekAllergenFinding(AllergenOfFood):
    """One food against one avoided allergen, with the days it was packed."""

    dates: list[str] = Field(description="The days, YYYY-MM-DD.")


class WeekHandlingFinding(HandlingFound):
    """A choking form or holding to fix, with its days."""

    dates: list[str] = Field(description="The days, YYYY-MM-DD.")


class DayCostShown(ReplyModel):
    """What one day cost as far as prices are known."""

    date: str = Field(description="The day, YYYY-MM-DD.", json_schema_extra={"format": "date"})
    kind: Literal["packed", "bought"] = Field(description="What kind it is.")
    amount_minor: int = Field(description="In whole minor units of the currency, e.g. cents.")
    unpriced: list[str] = Field(description="Foods without a price.")


class KindCost(ReplyModel):
    """Packed or bought days together."""

    days: int = Field(description="On how many days.")
    amount_minor: int = Field(description="In whole minor units of the currency, e.g. cents.")
    a_day_minor: int | None = Field(description="A day, in whole minor units; null: not known.")
    complete: bool = Field(description="Whether all of it is known or covered.")


class CostShown(Said):
    """Cost in whole minor units of one currency; sums are exact and rounded once."""

    currency: str = Field(description="ISO 4217 code.")
    days: list[DayCostShown] = Field(description="Its days.")
    packed: KindCost = Field(description="Days packed at home.")
    bought: KindCost = Field(description="Days bought at school.")
    amount_minor: int = Field(description="In whole minor units of the currency, e.g. cents.")
    unpriced: list[str] = Field(description="Foods without a price.")


class ChangedPlace(ReplyModel):
    """One place that a change touches."""

    date: str
    item: int | None = Field(description="Place of the item of that day that goes or changes; null: one is added.")


class WeekChange(Said):
    """One single change to next week and what it fixes."""

    kind: Literal["portion", "swap", "add", "remove"] = Field(description="What kind it is.")
    food: str | None = Field(description="Id of the food; of an own food, recipe or label its kind or name.")
    name: str | None = Field(description="Its name.")
    instead_of: str | None = Field(description="Id of the food that it takes the place of; null: none.")
    instead_of_name: str | None = Field(description="Name of the food that it takes the place of; null: none.")
    days: list[str] = Field(description="Its days.")
    places: list[ChangedPlace]
    quantity: float | None = Field(description="How many units.")
    unit: str | None = Field(description="The unit of its amounts.")
    grams: float | None = Field(description="Weight in grams.")
    form: str | None = Field(description="How the food that comes in is cut; the change rests on it.")
    times: float | None = Field(description="For another portion: this many times what is packed.")
    mends: list[str] = Field(description="Ids of the findings it fixes.")
    mends_labels: list[str] = Field(description="What the findings that it fixes are called.")
    days_mended: int = Field(description="On how many days a rule of each day is newly kept.")


class TrendMean(ReplyModel):
    """A week's mean of one measure."""

    mean: float = Field(description="The mean of a day, in the unit given.")
    complete: bool = Field(description="Whether all of it is known or covered.")


class TrendWeek(ReplyModel):
    """One week of the trend."""

    week: str = Field(description="ISO week, e.g. 2026-W49.")
    school_days: int = Field(description="How many school days.")
    counted_days: int = Field(description="How many of them count.")
    judged: bool = Field(description="False: the standard has no rows for that week.")
    met: int = Field(description="How many are met.")
    not_met: int = Field(description="How many are not met.")
    unknown: int = Field(description="How many for which this is not known; null: not counted.")
    means: dict[str, TrendMean] = Field(description="Means of a day, by measure.")
    packed_a_day_minor: int | None = Field(description="A packed day, in whole minor units; null: not known.")
    packed_complete: bool = Field(description="Whether all packed days have a price.")


class WeeklySummaryReply(ReplyModel):
    """The answer to a weekly summary."""

    week: str = Field(description="ISO week, e.g. 2026-W49.")
    first_day: str = Field(description="First day, YYYY-MM-DD.", json_schema_extra={"format": "date"})
    last_day: str = Field(
        description="Last day, YYYY-MM-DD; null: no end is known.", json_schema_extra={"format": "date"}
    )
    nickname: str | None = Field(description="The nickname as it was sent; null: none.")
    summary: str = Field(description="The answer in one sentence of English.")
    summary_message: SaidMessage = Field(description="The same as a code and its values.")
    standard: WeekStandard = Field(description="The standard it was checked against.")
    school_days: int = Field(description="How many school days.")
    counted_days: int = Field(description="How many of them count.")
    missing: list[str] = Field(description="School days of which nothing is known, YYYY-MM-DD.")
    shown_apart: list[str] = Field(description="Days that are shown and not counted.")
    days: list[WeekDayShown] = Field(description="Its days.")
    findings: list[WeekFindingShown] = Field(description="One for each target and rule.")
    frequencies: list[FrequencyFindingShown] = Field(description="Rules on how often.")
    product_rules: list[WeekProductFinding] = Field(description="Limits on single products.")
    micronutrients: list[MicronutrientShown] = Field(description="The mean lunch against a third of a day's reference.")
    means: dict[str, WeekMeasure] = Field(description="Means of a day, by measure.")
    variety: VarietyShown = Field(description="Kinds of the week.")
    allergens: list[WeekAllergenFinding] = Field(description="What was found of each avoided allergen.")
    handling: list[WeekHandlingFinding] = Field(description="Choking forms, and cold and hot holding.")
    cost: CostShown | None = Field(description="What it cost; null: no price is known.")
    changes: list[WeekChange] = Field(description="The smallest changes that were found.")
    trend: list[TrendWeek] = Field(description="The weeks before.")
    notes: list[str] = Field(description="Remarks, in sentences of English.")
    note_messages: list[SaidMessage] = Field(description="The same as codes and their values, in the same order.")
    cautions: list[str] = Field(description="What to bear in mind, in sentences of English.")
    caution_messages: list[SaidMessage] = Field(description="The same as codes and their values, in the same order.")
