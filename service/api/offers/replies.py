"""The published shape of an offer audit."""

from typing import Literal

from pydantic import Field

from service.api.lunch.replies import LunchCheckReply, StandardUsed
from service.api.replies import Said, SaidMessage, SourceStatus, Told


class LeftOut(Told):
    """An item that this child is not offered, and why."""

    group: str
    item: str
    name: str
    kind: Literal["must_not", "dislike"]
    reasons: list[str]
    reason_messages: list[SaidMessage]


class CardLine(Told):
    """What to take from one group (or from one of several that stand in for each other)."""

    take: str
    take_message: SaidMessage
    items: list[list[str]]


class Card(Told):
    """What a child reads: no figures, no score."""

    nickname: str
    lines: list[CardLine]
    rules: list[str]
    rule_messages: list[SaidMessage]
    text: str


class Chance(Told):
    """A chance; the two ends part where figures are unknown or rounded, or where it was not worked out exactly."""

    least: float
    most: float


class OfferTarget(Told):
    """One target over all lunches of the offer."""

    id: str
    label: str
    unit: str
    at_least: float | None
    at_most: float | None
    exclusive: bool
    basis: Literal["lunch", "school_day", "week_mean", "week_total"]
    firm: bool
    kept: int
    broken: int
    unknown: int = Field(description="Lunches whose answer hangs on a missing or rounded figure.")
    week_mean_chance: Chance | None = Field(
        description="For a week's mean: the chance that the mean of five lunches taken at random keeps it."
    )
    source: str
    source_status: SourceStatus


class OfferItem(Told):
    """One item's part in the lunches."""

    group: str
    item: str
    name: str
    lunches_with: int
    right_with: int
    unknown_with: int
    right_share_with: float | None
    right_share_without: float | None


class Histogram(Told):
    """How many lunches lie between the edges (the first included, the second not, the last both)."""

    edges: list[float]
    lunches: list[int]


class MeasureSpread(Told):
    """One measure over all lunches; unknown parts counted as nothing."""

    unit: str
    smallest: float
    median: float
    largest: float
    incomplete: int = Field(description="Lunches in which some item has no exact figure for it.")
    histogram: Histogram


class OfferExample(Told):
    """One lunch of the offer as a full check."""

    items: list[list[str]] = Field(description="Group and item key of each item taken.")
    check: LunchCheckReply | None = Field(description="null: nothing is taken at all.")


class TakeShown(Told):
    """How many are taken from a group."""

    at_least: int
    at_most: int
    repeats: bool


class RuleShown(Told):
    """With one item of a group, so many are taken from another; as in a request."""

    group: str
    item: str
    then_group: str
    take: TakeShown


class SingleChange(Said):
    """One change to the offer."""

    kind: Literal["remove", "portion", "swap", "add", "take", "with"]
    group: str
    item: str | None = Field(description="Key of the item that goes or changes, or along with which more is taken.")
    new_item: str | None = Field(description="Key of what comes in.")
    instead_of: str | None
    instead_of_name: str | None
    food: str | None
    name: str | None
    quantity: float | None
    unit: str | None
    grams: float | None
    form: str | None = Field(description="How the food that comes in is cut; the change rests on it.")
    take: TakeShown | None = Field(description="How many are then taken from the group.")
    rule: RuleShown | None = Field(description="The rule that is added.")


class OfferChangeShown(Said):
    """One change, or two together, with the count after it."""

    changes: list[SingleChange]
    total_after: int
    right_after: int
    right_share_after: float
    mended: int


class Estimated(Told):
    """An estimate from a sample, where there are too many lunches to count."""

    note: str
    note_message: SaidMessage
    sampled: int
    right_share: float
    low: float
    high: float
    confidence: float


class OfferChildReply(Said):
    """One child's part of an audit."""

    nickname: str | None
    standard: StandardUsed
    left_out: list[LeftOut]
    nothing_left_in: list[str] = Field(description="Groups from which something must be taken and nothing is left.")
    total: int
    counted: bool
    right: int | None
    wrong: int | None
    unknown: int | None
    right_share: float | None
    targets: list[OfferTarget]
    items: list[OfferItem]
    measures: dict[str, MeasureSpread]
    best: list[OfferExample]
    worst: list[OfferExample]
    changes: list[OfferChangeShown]
    changes_note: str
    changes_note_message: SaidMessage | None
    estimate: Estimated | None
    card: Card
    notes: list[str]
    note_messages: list[SaidMessage]


class LabelOrMove(Told):
    """An item that one child may take and another must not."""

    group: str
    item: str
    name: str
    not_for: list[str]
    reasons: list[str]
    reason_messages: list[SaidMessage]
    advice: str
    advice_message: SaidMessage


class OfferAuditReply(Told):
    """The answer to an offer audit."""

    on: str
    children: list[OfferChildReply]
    to_label_or_move: list[LabelOrMove]
    cautions: list[str]
    caution_messages: list[SaidMessage]
