"""The published shape of a week's summary."""

from typing import Literal

from pydantic import Field

from service.api.allergens.replies import AllergenOfFood
from service.api.lunch.replies import HandlingFound, StandardUsed, Total
from service.api.replies import Said, SaidMessage, SourceStatus, Status, Told

DayKind = Literal["packed", "bought", "none", "missing"]


class WeekStandard(StandardUsed):
    """The standard a week was held against."""

    kind: Literal["targets", "frequencies"]


class WeekItemShown(Told):
    """One item of a day."""

    food: str
    name: str
    quantity: float
    unit: str
    grams: float
    eaten_grams: float


class WeekDayShown(Told):
    """One day: what it was, whether it counts, and its sums."""

    date: str
    weekday: str
    kind: DayKind
    counted: bool
    why: str = Field(description="Why it does not count, or how; empty for an ordinary day.")
    why_message: SaidMessage | None
    menu: str | None
    items: list[WeekItemShown]
    totals: dict[str, Total] | None


class DayOutcome(Told):
    """What one day came to under a rule of each day."""

    date: str
    status: Status
    amount: float


class WeekFindingShown(Said):
    """One target over the week."""

    id: str
    kind: Literal["target"]
    label: str
    status: Status
    amount: float = Field(description="The mean of a day, the week's total, or the worst day, by basis.")
    amount_low: float
    amount_high: float | None = Field(description="null: no upper end is known.")
    at_least: float | None
    at_most: float | None
    guide_at_most: float | None = Field(description="The upper end of a printed range: a guide that decides nothing.")
    exclusive: bool
    unit: str
    basis: Literal["lunch", "school_day", "week_mean", "week_total"]
    share_percent: float | None = Field(description="For a share of one amount in another.")
    over_days: int
    school_days: int
    days: list[DayOutcome]
    source: str
    source_status: SourceStatus


class MicronutrientShown(WeekFindingShown):
    """The mean lunch against a third of a day's reference."""

    kind: Literal["day_reference"]  # type: ignore[assignment]
    reference: Literal["RDA", "AI", "RNI"]
    day_amount: float


class FrequencyFindingShown(Said):
    """One rule of frequencies and portions over the week."""

    id: str
    kind: Literal["frequency"]
    label: str
    status: Status
    least: float
    most: float | None = Field(description="null: no upper end is known.")
    at_least: int | None
    at_most: int | None
    unit: Literal["portions", "items", "days", "kinds", "grams_each", "ml_each", "accompanied", "kitchen"]
    period: Literal["day", "week", "three_weeks"]
    wanted: str
    whole_day: bool = Field(description="Holds for the whole school day, of which only the lunch is seen.")
    over_days: int
    school_days: int
    off_days: list[str]
    unsure_days: list[str]
    seen: list[str]
    source: str
    source_status: SourceStatus


class WeekProductFinding(Said):
    """A limit on one product or the kind of milk, with the days it was packed."""

    id: str
    kind: Literal["product_rule"]
    label: str
    status: Status
    item: str
    dates: list[str]
    amount: float | None
    at_most: float | None
    unit: str
    source: str
    source_status: SourceStatus


class WeekMeasure(Told):
    """One measure over the days that count."""

    label: str
    unit: str
    total: float
    mean: float
    mean_low: float
    mean_high: float | None
    complete: bool


class Repeat(Told):
    """A kind that came on more than one day."""

    group: Literal["fruit", "vegetable", "main"]
    kind: str
    days: int


class VarietyShown(Said):
    """Kinds of the week, what came again, what is new."""

    fruit: list[str]
    vegetables: list[str]
    mains: list[str]
    repeats: list[Repeat]
    new_foods: list[str] | None = Field(description="null: no earlier day was given.")
    unsorted: list[str] = Field(description="Items of which nobody said what they count as.")


class WeekAllergenFinding(AllergenOfFood):
    """One food against one avoided allergen, with the days it was packed."""

    dates: list[str]


class WeekHandlingFinding(HandlingFound):
    """A choking form or holding to mend, with its days."""

    dates: list[str]


class DayCostShown(Told):
    """What one day cost as far as prices are known."""

    date: str
    kind: Literal["packed", "bought"]
    amount_minor: int
    unpriced: list[str]


class KindCost(Told):
    """Packed or bought days together."""

    days: int
    amount_minor: int
    a_day_minor: int | None
    complete: bool


class CostShown(Said):
    """Cost in whole minor units of one currency; sums are exact and rounded once."""

    currency: str
    days: list[DayCostShown]
    packed: KindCost
    bought: KindCost
    amount_minor: int
    unpriced: list[str]


class ChangedPlace(Told):
    """One place that a change touches."""

    date: str
    item: int | None = Field(description="Place of the item of that day that goes or changes; null: one is added.")


class WeekChange(Said):
    """One single change to next week and what it mends."""

    kind: Literal["portion", "swap", "add", "remove"]
    food: str | None
    name: str | None
    instead_of: str | None
    instead_of_name: str | None
    days: list[str]
    places: list[ChangedPlace]
    quantity: float | None
    unit: str | None
    grams: float | None
    form: str | None = Field(description="How the food that comes in is cut; the change rests on it.")
    times: float | None = Field(description="For another portion: this many times what is packed.")
    mends: list[str] = Field(description="Ids of the findings it mends.")
    mends_labels: list[str]
    days_mended: int = Field(description="On how many days a rule of each day is newly kept.")


class TrendMean(Told):
    """A week's mean of one measure."""

    mean: float
    complete: bool


class TrendWeek(Told):
    """One week of the trend."""

    week: str
    school_days: int
    counted_days: int
    judged: bool = Field(description="False: the standard has no rows for that week.")
    met: int
    not_met: int
    unknown: int
    means: dict[str, TrendMean]
    packed_a_day_minor: int | None
    packed_complete: bool


class WeeklySummaryReply(Told):
    """The answer to a weekly summary."""

    week: str
    first_day: str
    last_day: str
    nickname: str | None
    summary: str
    summary_message: SaidMessage
    standard: WeekStandard
    school_days: int
    counted_days: int
    missing: list[str]
    shown_apart: list[str]
    days: list[WeekDayShown]
    findings: list[WeekFindingShown]
    frequencies: list[FrequencyFindingShown]
    product_rules: list[WeekProductFinding]
    micronutrients: list[MicronutrientShown]
    means: dict[str, WeekMeasure]
    variety: VarietyShown
    allergens: list[WeekAllergenFinding]
    handling: list[WeekHandlingFinding]
    cost: CostShown | None
    changes: list[WeekChange]
    trend: list[TrendWeek]
    notes: list[str]
    note_messages: list[SaidMessage]
    cautions: list[str]
    caution_messages: list[SaidMessage]
