"""The published shape of an offer audit."""

from typing import Literal

from pydantic import Field

from service.api.lunch.replies import LunchCheckReply, StandardUsed
from service.api.replies import ReplyModel, Said, SaidMessage, SourceStatus


class LeftOut(ReplyModel):
    """An item that this child is not offered, and why."""

    group: str = Field(description="Id of the choice group.")
    item: str = Field(description="The item: its key or name.")
    name: str = Field(description="Its name.")
    kind: Literal["must_not", "dislike"] = Field(description="What kind it is.")
    reasons: list[str] = Field(description="Why, in sentences of English.")
    reason_messages: list[SaidMessage] = Field(description="The same as codes and their values, in the same order.")


class CardLine(ReplyModel):
    """What to take from one group (or from one of several that stand in for each other)."""

    take: str = Field(description="How many to take, in words.")
    take_message: SaidMessage = Field(description="The same as a code and its values.")
    items: list[list[str]] = Field(description="The items.")


class Card(ReplyModel):
    """What a child reads: no figures, no score."""

    nickname: str = Field(description="The nickname as it was sent; null: none.")
    lines: list[CardLine] = Field(description="What to take, a line for each group.")
    rules: list[str] = Field(description="Rules, in sentences.")
    rule_messages: list[SaidMessage] = Field(description="The same as codes and their values, in the same order.")
    text: str = Field(description="All of it as text.")


class Chance(ReplyModel):
    """A chance; the two ends part where figures are unknown or rounded, or where it was not worked out exactly."""

    least: float = Field(description="The least it can be.")
    most: float = Field(description="The most it can be.")


class OfferTarget(ReplyModel):
    """One target over all lunches of the offer."""

    id: str = Field(description="Its id.")
    label: str = Field(description="What it is called, for people.")
    unit: str = Field(description="The unit of its amounts.")
    at_least: float | None = Field(description="Lower bound in the unit given; null: none.")
    at_most: float | None = Field(description="Upper bound in the unit given; null: none.")
    exclusive: bool = Field(description="The bound itself does not count as met.")
    basis: Literal["lunch", "school_day", "week_mean", "week_total"] = Field(
        description="What it applies to or is based on."
    )
    firm: bool = Field(description="One lunch by itself must meet it.")
    kept: int = Field(description="How many keep it.")
    broken: int = Field(description="How many break it.")
    unknown: int = Field(description="Lunches whose answer hangs on a missing or rounded figure.")
    week_mean_chance: Chance | None = Field(
        description="For a week's mean: the chance that the mean of five lunches taken at random keeps it."
    )
    source: str = Field(description="Where it comes from: publication and place.")
    source_status: SourceStatus = Field(
        description="How well the source is known: read, second_hand, memory, estimated or proposed."
    )


class OfferItem(ReplyModel):
    """One item's part in the lunches."""

    group: str = Field(description="Id of the choice group.")
    item: str = Field(description="The item: its key or name.")
    name: str = Field(description="Its name.")
    lunches_with: int = Field(description="Lunches that hold it.")
    right_with: int = Field(description="Lunches that hold it and keep every rule.")
    unknown_with: int = Field(description="Lunches that contain it and for which this is not known.")
    right_share_with: float | None = Field(
        description="Share of right lunches among those that hold it, 0 to 1; null: there are none."
    )
    right_share_without: float | None = Field(
        description="Share of right lunches among the others, 0 to 1; null: there are none."
    )


class Histogram(ReplyModel):
    """How many lunches lie between the edges (the first included, the second not, the last both)."""

    edges: list[float] = Field(description="Edges of the classes, in the unit given.")
    lunches: list[int] = Field(description="How many lunches.")


class MeasureSpread(ReplyModel):
    """One measure over all lunches; unknown parts counted as nothing."""

    unit: str = Field(description="The unit of its amounts.")
    smallest: float = Field(description="The smallest, in the unit given.")
    median: float = Field(description="The median, in the unit given.")
    largest: float = Field(description="The largest, in the unit given.")
    incomplete: int = Field(description="Lunches in which some item has no exact figure for it.")
    histogram: Histogram = Field(description="How they are spread.")


class OfferExample(ReplyModel):
    """One lunch of the offer as a full check."""

    items: list[list[str]] = Field(description="Group and item key of each item taken.")
    check: LunchCheckReply | None = Field(description="null: nothing is taken at all.")


class TakeShown(ReplyModel):
    """How many are taken from a group."""

    at_least: int
    at_most: int
    repeats: bool


class RuleShown(ReplyModel):
    """With one item of a group, so many are taken from another; as in a request."""

    group: str
    item: str
    then_group: str
    take: TakeShown


class SingleChange(Said):
    """One change to the offer."""

    kind: Literal["remove", "portion", "swap", "add", "take", "with"] = Field(description="What kind it is.")
    group: str = Field(description="Id of the choice group.")
    item: str | None = Field(description="Key of the item that goes or changes, or along with which more is taken.")
    new_item: str | None = Field(description="Key of what comes in.")
    instead_of: str | None
    instead_of_name: str | None
    food: str | None = Field(description="Id of the food; of an own food, recipe or label its kind or name.")
    name: str | None
    quantity: float | None
    unit: str | None
    grams: float | None
    form: str | None = Field(description="How the food that comes in is cut; the change rests on it.")
    take: TakeShown | None = Field(description="How many are then taken from the group.")
    rule: RuleShown | None = Field(description="The rule that is added.")


class OfferChangeShown(Said):
    """One change, or two together, with the count after it."""

    changes: list[SingleChange] = Field(description="The smallest changes that were found.")
    total_after: int = Field(description="How many lunches there are after it.")
    right_after: int = Field(description="How many of them keep every rule.")
    right_share_after: float = Field(description="Share of right lunches after it, 0 to 1.")
    mended: int = Field(description="How many lunches are right that were not.")


class Estimated(ReplyModel):
    """An estimate from a sample, where there are too many lunches to count."""

    note: str = Field(description="A remark; empty: none.")
    note_message: SaidMessage = Field(description="The same as a code and its values.")
    sampled: int = Field(description="How many lunches were drawn.")
    right_share: float = Field(description="Share of right lunches, 0 to 1; null: not known.")
    low: float = Field(description="The least it can be, in the unit given.")
    high: float = Field(description="The most it can be, in the unit given; null: no upper end is known.")
    confidence: float = Field(description="Confidence of the interval, 0 to 1.")


class OfferChildReply(Said):
    """One child's part of an audit."""

    nickname: str | None = Field(description="The nickname as it was sent; null: none.")
    standard: StandardUsed = Field(description="The standard it was checked against.")
    left_out: list[LeftOut] = Field(description="Items that this child is not offered.")
    nothing_left_in: list[str] = Field(description="Groups from which something must be taken and nothing is left.")
    total: int = Field(description="How many there are in all.")
    counted: bool = Field(description="Whether it counts, or was counted.")
    right: int | None = Field(description="How many keep every rule; null: not counted.")
    wrong: int | None = Field(description="How many break a rule; null: not counted.")
    unknown: int | None = Field(description="How many for which this is not known; null: not counted.")
    right_share: float | None = Field(description="Share of right lunches, 0 to 1; null: not known.")
    targets: list[OfferTarget] = Field(description="The targets.")
    items: list[OfferItem] = Field(description="The items.")
    measures: dict[str, MeasureSpread] = Field(description="How each measure is spread.")
    best: list[OfferExample] = Field(description="The best lunches.")
    worst: list[OfferExample] = Field(description="The worst lunches.")
    changes: list[OfferChangeShown] = Field(description="The smallest changes that were found.")
    changes_note: str = Field(description="What was looked for, in a sentence.")
    changes_note_message: SaidMessage | None = Field(description="The same as a code and its values.")
    estimate: Estimated | None = Field(description="An estimate; null: all were counted.")
    card: Card = Field(description="What the child reads.")
    notes: list[str] = Field(description="Remarks, in sentences of English.")
    note_messages: list[SaidMessage] = Field(description="The same as codes and their values, in the same order.")


class LabelOrMove(ReplyModel):
    """An item that one child may take and another must not."""

    group: str = Field(description="Id of the choice group.")
    item: str = Field(description="The item: its key or name.")
    name: str = Field(description="Its name.")
    not_for: list[str] = Field(description="Nicknames of the children that must not take it.")
    reasons: list[str] = Field(description="Why, in sentences of English.")
    reason_messages: list[SaidMessage] = Field(description="The same as codes and their values, in the same order.")
    advice: str = Field(description="What to do, in a sentence.")
    advice_message: SaidMessage = Field(description="The same as a code and its values.")


class OfferAuditReply(ReplyModel):
    """The answer to an offer audit."""

    on: str = Field(description="The day, YYYY-MM-DD.", json_schema_extra={"format": "date"})
    children: list[OfferChildReply] = Field(description="One for each child.")
    to_label_or_move: list[LabelOrMove] = Field(description="Items that one child may take and another must not.")
    cautions: list[str] = Field(description="What to bear in mind, in sentences of English.")
    caution_messages: list[SaidMessage] = Field(description="The same as codes and their values, in the same order.")
