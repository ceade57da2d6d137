"""The published shape of a week's summary."""

from typing import Literal

from pydantic import Field

from service.api.allergens.replies import AllergenOfFood
from service.api.lunch.replies import HandlingFound, StandardUsed, Total, YardstickHead
from service.api.replies import AsCode, AsCodes, HowKnown, ReplyModel, Said, SaidMessage, Source
from service.jobs.word_lists import Basis, MealPriceUsed, Period, StandardKind, Status

DayKind = Literal["packed", "bought", "none", "missing"]


class WeekStandard(StandardUsed):
    """The standard a week was checked against."""

    kind: StandardKind = Field(description="targets: amounts; frequencies: portions and kinds.")


class WeekItemShown(ReplyModel):
    """One item of a day."""

    food: str = Field(description="Id of the food; of an own food, recipe or label its kind or name.")
    name: str = Field(description="Name of the food, for people.")
    quantity: float = Field(description="How many of `unit` were packed.")
    unit: str = Field(description="g, or the household unit of the food that quantity counts.")
    grams: float = Field(description="Weight packed, in grams.")
    eaten_grams: float = Field(description="Weight eaten, in grams: what was packed without what came back.")


class WeekDayShown(ReplyModel):
    """One day: what it was, whether it counts, and its sums."""

    date: str = Field(description="The day, YYYY-MM-DD.", json_schema_extra={"format": "date"})
    weekday: str = Field(description="Its day of the week, in English.")
    kind: DayKind = Field(
        description="Whether the lunch was packed, bought or none; missing: nothing is known of that school day."
    )
    counted: bool = Field(description="True: the day counts in the week's figures; false: `why` says why not.")
    why: str = Field(description="Why it does not count, or how; empty for an ordinary day.")
    why_message: SaidMessage | None = Field(description="The same as a code and its values.")
    menu: str | None = Field(description="Name of the bought meal; null: none.")
    items: list[WeekItemShown] = Field(description="The items of a packed lunch, in the order sent.")
    totals: dict[str, Total] | None = Field(
        description="Sums over the day's lunch, by the id of the measure; null: the day has no figures."
    )


class DayOutcome(ReplyModel):
    """What one day came to under a rule of each day."""

    date: str = Field(description="The day, YYYY-MM-DD.", json_schema_extra={"format": "date"})
    status: Status = Field(description="How the amount of that day stands to the bounds.")
    amount: float = Field(description="The day's amount, in the unit of the finding.")


class WeekFindingShown(Said):
    """One target over the week."""

    id: str = Field(description="Id of the target in its standard.")
    kind: Literal["target"] = Field(description="Always target.")
    label: str = Field(description="What it is called, for people.")
    status: Status = Field(description="How the amount stands to the bounds.")
    amount: float = Field(description="The mean of a day, the week's total, or the worst day (by basis), in `unit`.")
    amount_low: float = Field(description="The least the amount can be, in `unit`.")
    amount_high: float | None = Field(description="The most the amount can be, in `unit`; null: no upper end is known.")
    at_least: float | None = Field(description="Lower bound in `unit`; null: none.")
    at_most: float | None = Field(description="Upper bound in `unit`; null: none.")
    guide_at_most: float | None = Field(
        description="Upper end of a printed range, in `unit`: a guide that decides nothing; null: none."
    )
    exclusive: bool = Field(description="True: an amount equal to the bound does not meet it.")
    unit: str = Field(description="Unit of the amounts and bounds, e.g. g, mg, kcal, cup.")
    basis: Basis = Field(description="What the bounds hold for.")
    share_percent: float | None = Field(
        description="Where one amount is a share of another: that share in percent; null: it is not."
    )
    over_days: int = Field(description="Number of days on which it was judged over.")
    school_days: int = Field(description="Number of school days in the week.")
    days: list[DayOutcome] = Field(description="The single days, where the rule holds for each day.")
    source: Source
    source_status: HowKnown


class MicronutrientShown(WeekFindingShown):
    """The mean lunch against a third of a day's reference."""

    kind: Literal["day_reference"] = Field(description="Always day_reference.")  # type: ignore[assignment]
    reference: Literal["RDA", "AI", "RNI"] = Field(
        description="Kind of reference value: RDA, AI (US, Canada) or RNI (UK)."
    )
    day_amount: float = Field(description="The reference for a day, in the unit given.")


class FrequencyFindingShown(Said):
    """One rule of frequencies and portions over the week."""

    id: str = Field(description="Id of the rule in its standard.")
    kind: Literal["frequency"] = Field(description="Always frequency.")
    label: str = Field(description="What it is called, for people.")
    status: Status = Field(description="How the number counted stands to the bounds.")
    least: float = Field(description="The least the number can be, in `unit`.")
    most: float | None = Field(description="The most the number can be, in `unit`; null: no upper end is known.")
    at_least: int | None = Field(description="Least number in `unit`; null: none.")
    at_most: int | None = Field(description="Greatest number in `unit`; null: none.")
    unit: Literal["portions", "items", "days", "kinds", "grams_each", "ml_each", "accompanied", "kitchen"] = Field(
        description="What is counted. Open: more values may be added."
    )
    period: Period = Field(description="The time over which it counts.")
    wanted: str = Field(description="What it asks for, in words.")
    whole_day: bool = Field(description="Holds for the whole school day, of which only the lunch is seen.")
    over_days: int = Field(description="Number of days on which it was judged over.")
    school_days: int = Field(description="Number of school days in the week.")
    off_days: list[str] = Field(description="Days that do not keep it, YYYY-MM-DD.")
    unsure_days: list[str] = Field(description="Days of which it is not known whether they keep it, YYYY-MM-DD.")
    seen: list[str] = Field(description="The foods and days that were counted, in words.")
    source: Source
    source_status: HowKnown


class WeekProductFinding(Said):
    """A limit on one product or the kind of milk, with the days it was packed."""

    id: str = Field(description="Id of the rule in its standard.")
    kind: Literal["product_rule"] = Field(description="Always product_rule.")
    label: str = Field(description="What it is called, for people.")
    status: Status = Field(description="How the product stands to the limit.")
    item: str = Field(description="Name of the item, for people.")
    dates: list[str] = Field(description="The days on which it was packed, YYYY-MM-DD.")
    amount: float | None = Field(
        description="The amount found, in `unit`; null: not known, or the rule is on the kind of milk."
    )
    at_most: float | None = Field(description="Upper bound in `unit`; null: none.")
    unit: str = Field(description="Unit of the amount and bound.")
    source: Source
    source_status: HowKnown


class WeekMeasure(ReplyModel):
    """One measure over the days that count."""

    label: str = Field(description="What it is called, for people.")
    unit: str = Field(description="Unit of the amounts, e.g. g, mg, kcal, cup.")
    total: float = Field(description="Sum over the days that count, in `unit`.")
    mean: float = Field(description="Mean of a day that counts, in `unit`.")
    mean_low: float = Field(description="The least the mean can be, in `unit`.")
    mean_high: float | None = Field(description="The most the mean can be, in `unit`; null: no upper end is known.")
    complete: bool = Field(description="True: every item of the days that count has a figure.")


class Repeat(ReplyModel):
    """A kind that came on more than one day."""

    group: Literal["fruit", "vegetable", "main"] = Field(
        description="Whether it is a fruit, a vegetable or a main item."
    )
    kind: str = Field(description="The kind of food that came again, e.g. apple.")
    days: int = Field(description="Number of days on which it came.")


class VarietyShown(Said):
    """Kinds of the week, what came again, what is new."""

    fruit: list[str] = Field(description="Kinds of fruit.")
    vegetables: list[str] = Field(description="Kinds of vegetables.")
    mains: list[str] = Field(description="Main items.")
    repeats: list[Repeat] = Field(description="Kinds that came on more than one day.")
    new_foods: list[str] | None = Field(
        description="Foods that came on no earlier day; null: no earlier day was given."
    )
    unsorted: list[str] = Field(description="Items for which no group was given, so that they count in none.")


class WeekAllergenFinding(AllergenOfFood):
    """One food against one avoided allergen, with the days it was packed."""

    dates: list[str] = Field(description="The days on which it was packed, YYYY-MM-DD.")


class WeekHandlingFinding(HandlingFound):
    """A choking form or holding to fix, with its days."""

    dates: list[str] = Field(description="The days on which it was found, YYYY-MM-DD.")


class DayCostShown(ReplyModel):
    """What one day cost as far as prices are known."""

    date: str = Field(description="The day, YYYY-MM-DD.", json_schema_extra={"format": "date"})
    kind: Literal["packed", "bought"] = Field(description="Whether the lunch was packed at home or bought at school.")
    amount_minor: int = Field(description="Cost of the day in whole minor units of the currency, e.g. cents.")
    unpriced: list[str] = Field(description="Foods without a price.")
    meal_price: MealPriceUsed | None = Field(
        description="Of a bought lunch: whose price was used; null: it was packed, or there is no price."
    )


class KindCost(ReplyModel):
    """Packed or bought days together."""

    days: int = Field(description="Number of such days.")
    amount_minor: int = Field(description="Cost of these days in whole minor units of the currency, e.g. cents.")
    a_day_minor: int | None = Field(
        description="Cost of one such day on average, in whole minor units; null: there was none."
    )
    complete: bool = Field(description="True: everything of these days has a price.")


class PriceNotCounted(Said):
    """A price that is not counted, because costs are told in another currency, and what to do."""

    name: str | None = Field(description="Name of the food; null: the school meal.")
    child: str | None = Field(
        description="Nickname of the only child that pays it for the school meal; null: every child."
    )
    amount_minor: int = Field(description="In whole minor units of its currency.")
    currency: str = Field(description="Its currency, ISO 4217.")
    pack_grams: float | None = Field(description="What the pack weighs, in grams; null: the school meal.")
    from_: str = Field(alias="from", description="First day on which it applies, YYYY-MM-DD.")


class ChildCost(ReplyModel):
    """What the lunches of one child cost."""

    id: str = Field(description="Id of the child, a UUID.")
    nickname: str = Field(description="Its nickname.")
    amount_minor: int = Field(description="Cost of the week in whole minor units of the currency, e.g. cents.")
    complete: bool = Field(description="True: everything has a price.")
    own_price_lunches: int = Field(description="How many meals were bought at the child's own price, not the menu's.")


class HouseholdCost(Said):
    """What the lunches of all children of the household cost in that week."""

    children: list[ChildCost] = Field(description="Each child.")
    amount_minor: int = Field(description="Cost of the week in whole minor units of the currency, e.g. cents.")
    unpriced: list[str] = Field(description="Foods without a price.")
    not_counted: list[PriceNotCounted] = Field(description="Prices of what was eaten that are in another currency.")


class CostShown(Said):
    """Cost in whole minor units of one currency; sums are exact and rounded once."""

    currency: str = Field(description="ISO 4217 code, e.g. EUR.")
    days: list[DayCostShown] = Field(description="The cost of each day.")
    packed: KindCost = Field(description="Days packed at home.")
    bought: KindCost = Field(description="Days bought at school.")
    amount_minor: int = Field(description="Cost of the week in whole minor units of the currency, e.g. cents.")
    unpriced: list[str] = Field(description="Foods without a price.")
    not_counted: list[PriceNotCounted] = Field(description="Prices of what was eaten that are in another currency.")
    household: HouseholdCost | None = Field(
        description="For a stored child: all children of its household together; null: the child is not stored."
    )


class ChangedPlace(ReplyModel):
    """One place that a change touches."""

    date: str = Field(description="The day, YYYY-MM-DD.", json_schema_extra={"format": "date"})
    item: int | None = Field(description="Place of the item of that day that goes or changes; null: one is added.")


class WeekChange(Said):
    """One single change to next week and what it fixes."""

    kind: Literal["portion", "swap", "add", "remove", "form"] = Field(
        description="What the change does: another portion, one food for another, a food added or removed, or cut another way."
    )
    food: str | None = Field(description="Id of the food; of an own food, recipe or label its kind or name.")
    name: str | None = Field(description="Name of the food, for people.")
    instead_of: str | None = Field(description="Id of the food that it takes the place of; null: none.")
    instead_of_name: str | None = Field(description="Name of the food that it takes the place of; null: none.")
    days: list[str] = Field(description="The days that the change is made on, YYYY-MM-DD.")
    places: list[ChangedPlace] = Field(description="The days and items of the request that it touches.")
    quantity: float | None = Field(description="How many of `unit` to pack after the change.")
    unit: str | None = Field(description="g, or the household unit of the food that quantity counts.")
    grams: float | None = Field(description="Weight after the change, in grams.")
    form: str | None = Field(description="How the food is cut that comes in or stays; the change rests on it.")
    times: float | None = Field(description="For another portion: this many times what is packed.")
    mends: list[str] = Field(description="Ids of the findings that it puts right.")
    mends_labels: list[str] = Field(description="What the findings that it puts right are called.")
    less_of: list[str] = Field(
        description="What the week has too much of, and clearly less of after the change, though still too much."
    )
    days_mended: int = Field(
        description="On how many days a rule of each day is newly kept, or something is left out of which the week has too much."
    )


class TrendMean(ReplyModel):
    """A week's mean of one measure."""

    mean: float = Field(description="Mean of a day that counts, in the unit of the measure.")
    mean_low: float = Field(description="The least that mean can be.")
    complete: bool = Field(description="True: every item of the days that count has a figure.")


class TrendWeek(ReplyModel):
    """One week of the trend."""

    week: str = Field(description="ISO week, e.g. 2026-W49.")
    school_days: int = Field(description="Number of school days in the week.")
    counted_days: int = Field(description="Number of days that count.")
    judged: bool = Field(description="False: the standard has no rules for that week.")
    met: int = Field(description="Number of targets and rules that are met.")
    not_met: int = Field(description="Number of targets and rules that are not met.")
    unknown: int = Field(
        description="Number of targets and rules of which it is not known, because a figure is missing."
    )
    means: dict[str, TrendMean] = Field(description="Means of a day, by the id of the measure.")
    packed_a_day_minor: int | None = Field(description="A packed day, in whole minor units; null: not known.")
    packed_complete: bool = Field(description="Whether all packed days have a price.")


class CorrectionShown(Said):
    """What is stored otherwise by now than when lunches were logged; they go by what was stored then."""

    kind: Literal["food", "packet", "avoids", "rules"] = Field(
        description="food: an own food or recipe was edited; packet: a packet was read, edited or removed; avoids: what must be "
        "kept away from the child is another; rules: the child's standard or age group is another."
    )
    food: str | None = Field(
        description="Id of the own food or recipe, or of the food that the packet stands for; null: it is about none."
    )
    dates: list[str] = Field(
        description="The days of these lunches, YYYY-MM-DD; saving one again makes it use what is stored now."
    )
    names: list[str] = Field(description="Names of the foods of these lunches that it is about.")
    allergens: list[str] = Field(description="Ids of the allergens that it is about; empty: none.")
    do_not_pack: bool = Field(
        description="Whether these foods must not be packed by what is known now, which was not known when they were logged."
    )


class WeekYardstickShown(YardstickHead):
    """A yardstick beside a week."""

    findings: list[WeekFindingShown] = Field(
        description="Its rows, judged; empty: it has none for the child's age or the week."
    )


class WeeklySummaryReply(ReplyModel):
    """The answer to a weekly summary."""

    week: str = Field(description="ISO week, e.g. 2026-W49.")
    first_day: str = Field(description="Monday of the week, YYYY-MM-DD.", json_schema_extra={"format": "date"})
    last_day: str = Field(description="Sunday of the week, YYYY-MM-DD.", json_schema_extra={"format": "date"})
    nickname: str | None = Field(description="The nickname as it was sent; null: none.")
    summary: str = Field(description="The answer in one sentence of English.")
    summary_message: AsCode
    standard: WeekStandard = Field(description="The standard it was held against.")
    school_days: int = Field(description="Number of school days in the week.")
    counted_days: int = Field(description="Number of days that count in the figures.")
    missing: list[str] = Field(description="School days of which nothing is known, YYYY-MM-DD.")
    shown_apart: list[str] = Field(description="Days that are shown and do not count, YYYY-MM-DD.")
    days: list[WeekDayShown] = Field(description="The days of the week, in their order.")
    findings: list[WeekFindingShown] = Field(description="One for each target of the standard.")
    frequencies: list[FrequencyFindingShown] = Field(description="Rules on how often.")
    product_rules: list[WeekProductFinding] = Field(description="Limits on single products.")
    micronutrients: list[MicronutrientShown] = Field(description="The mean lunch against a third of a day's reference.")
    means: dict[str, WeekMeasure] = Field(description="Sums and means of a day, by the id of the measure.")
    variety: VarietyShown = Field(description="Kinds of the week.")
    allergens: list[WeekAllergenFinding] = Field(description="What was found of each avoided allergen.")
    handling: list[WeekHandlingFinding] = Field(description="Choking forms, and cold and hot holding.")
    cost: CostShown | None = Field(description="What it cost; null: no price is known.")
    changes: list[WeekChange] = Field(description="Single changes to next week that put findings right.")
    trend: list[TrendWeek] = Field(
        description="Weeks in brief, to see a trend; those before this one are sent along in days."
    )
    yardsticks: list[WeekYardstickShown] = Field(
        description="The yardsticks that were asked for, each with its rows judged: they change nothing of the answer."
    )
    corrections: list[CorrectionShown] = Field(
        description="For a stored child: what was edited since its lunches were logged; not used until they are saved again."
    )
    notes: list[str] = Field(description="Remarks, in sentences of English.")
    note_messages: AsCodes
    cautions: list[str] = Field(description="What to bear in mind, in sentences of English.")
    caution_messages: AsCodes
