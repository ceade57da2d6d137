"""The published shape of an offer audit."""

from typing import Literal

from pydantic import Field

from service.api.lunch.replies import LunchCheckReply, StandardUsed, YardstickHead
from service.api.replies import AsCode, AsCodes, HowKnown, ReplyModel, Said, SaidMessage, Source
from service.jobs.word_lists import Basis


class LeftOut(ReplyModel):
    """An item that this child is not offered, and why."""

    group: str = Field(description="Id of the choice group.")
    item: str = Field(description="Key of the item in its group.")
    name: str = Field(description="Name of the food, for people.")
    kind: Literal["must_not", "check_label", "dislike"] = Field(
        description="must_not: it must not be packed for the child; check_label: its packet has to be read first; dislike: the child does not like it."
    )
    reasons: list[str] = Field(description="Why, in sentences of English.")
    reason_messages: AsCodes


class RuleNotKept(Said):
    """A rule of the family that this child cannot keep."""

    group: str = Field(description="Id of the choice group of the item.")
    item: str = Field(description="Key of the item that the rule is about.")
    then_group: str = Field(description="Id of the choice group in which too little is left.")
    take: "TakeShown" = Field(description="How many should be taken from that group.")
    not_with: list[str] | None = Field(
        description="Group and key of an item whose rule contradicts this one, so that no lunch holds both; null: the rule cannot be kept at all."
    )


class CutFor(Said):
    """An item that is to be cut in another form for this child than it is set out in."""

    group: str = Field(description="Id of the choice group.")
    item: str = Field(description="Key of the item in its group.")
    name: str = Field(description="Name of the food, for people.")
    form: str = Field(description="The form for this child; its lunches are judged with it.")


class HandlingInOffer(Said):
    """A finding on the form of an item, or on how the lunches are kept, over all lunches of the offer."""

    id: str = Field(description="Id of the rule.")
    status: Literal["fix", "unknown"] = Field(
        description="fix: it has to be set right; unknown: it is not known whether the rule is kept."
    )
    items: list[list[str]] = Field(description="Group and key of each item that it speaks of.")
    lunches: int = Field(description="Number of lunches that hold one of these items.")
    source: Source
    source_status: HowKnown


class ProductInOffer(Said):
    """A product that breaks a rule on single products, or of which that is not known, over all lunches of the offer."""

    id: str = Field(description="Id of the rule.")
    label: str = Field(description="What it limits, in words.")
    status: Literal["over", "short", "unknown"] = Field(
        description="over, short: a lunch with it breaks the rule; unknown: a figure is missing."
    )
    items: list[list[str]] = Field(description="Group and key of each item that is this product.")
    lunches: int = Field(description="Number of lunches that hold one of these items.")
    source: Source
    source_status: HowKnown


class CardLine(ReplyModel):
    """What to take from one group (or from one of several that stand in for each other)."""

    take: str = Field(description="How many to take, in words.")
    take_message: AsCode
    items: list[list[str]] = Field(description="The groups of this line, each a list of the names of its items.")


class Card(ReplyModel):
    """What a child reads: no figures, no score."""

    nickname: str = Field(description="Nickname of the child, as sent.")
    lines: list[CardLine] = Field(description="What to take, a line for each group.")
    rules: list[str] = Field(description="Rules, in sentences.")
    rule_messages: AsCodes
    text: str = Field(description="The whole card as lines of text.")


class Chance(ReplyModel):
    """A chance; the two ends part where figures are unknown or rounded, or where it was not worked out exactly."""

    least: float = Field(description="The least the chance can be, 0 to 1.")
    most: float = Field(description="The most the chance can be, 0 to 1.")


class Cause(Said):
    """A target that lunches of the offer break, and the item that goes with it."""

    target: str = Field(description="Id of the target.")
    label: str = Field(description="What it is of, in words.")
    short: bool = Field(description="Whether there is too little of it; false: too much.")
    without_sweets: bool = Field(
        description="Whether it is a minimum of energy that these lunches keep, but would not without their sweets and snacks."
    )
    lunches: int = Field(description="How many lunches break it so.")
    group: str | None = Field(
        description="Group of the item; null: no item goes with it, or one that is in every lunch."
    )
    item: str | None = Field(description="Key of the item whose lunches break it most often.")
    name: str | None = Field(description="Its name.")
    lunches_with_item: int = Field(description="How many of the lunches that break it have the item.")


class OfferTarget(ReplyModel):
    """One target over all lunches of the offer."""

    id: str = Field(description="Id of the target in its standard.")
    label: str = Field(description="What it is called, for people.")
    unit: str = Field(description="Unit of the bounds, e.g. g, mg, kcal, cup.")
    at_least: float | None = Field(description="Lower bound in `unit`; null: none.")
    at_most: float | None = Field(description="Upper bound in `unit`; null: none.")
    exclusive: bool = Field(description="True: an amount equal to the bound does not meet it.")
    basis: Basis = Field(description="What the bounds hold for.")
    firm: bool = Field(
        description="True: each lunch by itself must meet it; false: a mean over the week may even it out."
    )
    kept: int = Field(description="Number of lunches that keep it.")
    broken: int = Field(description="Number of lunches that break it.")
    unknown: int = Field(
        description="Number of lunches of which it is not known, because a figure is missing or rounded."
    )
    not_applicable: int = Field(
        description="Number of lunches it does not apply to: a share of energy where a lunch has none."
    )
    week_mean_chance: Chance | None = Field(
        description="For a week's mean: the chance that the mean of five lunches taken at random keeps it."
    )
    source: Source
    source_status: HowKnown


class OfferYardstick(YardstickHead):
    """All lunches of the offer beside a yardstick."""

    kept: int | None = Field(
        description="Number of lunches that keep all its limits; null: it has none for the child's age or the day, or the lunches were not counted."
    )
    broken: int | None = Field(description="Number of lunches that break one; null: as above.")
    unknown: int | None = Field(
        description="Number of lunches of which it is not known, because a figure is missing or rounded; null: as above."
    )
    targets: list[OfferTarget] = Field(description="Each of its limits over all lunches; empty: as above.")


class OfferItem(ReplyModel):
    """One item's part in the lunches."""

    group: str = Field(description="Id of the choice group.")
    item: str = Field(description="Key of the item in its group.")
    name: str = Field(description="Name of the food, for people.")
    lunches_with: int = Field(description="Number of lunches that hold it.")
    right_with: int = Field(description="Number of lunches that hold it and keep every rule.")
    unknown_with: int = Field(description="Number of lunches that hold it and of which it is not known.")
    right_share_with: float | None = Field(
        description="Share of right lunches among those that hold it, 0 to 1; null: there are none."
    )
    right_share_without: float | None = Field(
        description="Share of right lunches among the others, 0 to 1; null: there are none."
    )


class Histogram(ReplyModel):
    """How many lunches lie between the edges (the first included, the second not, the last both)."""

    edges: list[float] = Field(description="Edges of the classes, in the unit given.")
    lunches: list[int] = Field(description="Number of lunches in each class; one fewer than the edges.")


class MeasureSpread(ReplyModel):
    """One measure over all lunches; unknown parts counted as nothing."""

    unit: str = Field(description="Unit of the amounts, e.g. g, mg, kcal, cup.")
    smallest: float = Field(description="The smallest amount of a lunch, in `unit`.")
    median: float = Field(description="The median of all lunches, in `unit`.")
    largest: float = Field(description="The largest amount of a lunch, in `unit`.")
    incomplete: int = Field(description="Number of lunches in which some item has no exact figure for it.")
    histogram: Histogram = Field(description="How the lunches are spread over the amounts.")


class OfferExample(ReplyModel):
    """One lunch of the offer as a full check."""

    items: list[list[str]] = Field(description="Group and item key of each item taken.")
    check: LunchCheckReply | None = Field(description="The full check of this lunch; null: nothing is taken at all.")


class TakeShown(ReplyModel):
    """How many are taken from a group."""

    at_least: int = Field(description="Fewest items taken from the group.")
    at_most: int = Field(description="Most items taken from the group.")
    repeats: bool = Field(description="True: the same item may be taken more than once.")


class RuleShown(ReplyModel):
    """With one item of a group, so many are taken from another; as in a request."""

    group: str = Field(description="Id of the choice group of the item.")
    item: str = Field(description="Key of the item with which more is taken.")
    then_group: str = Field(description="Id of the choice group from which more is taken.")
    take: TakeShown = Field(description="How many are then taken from that group.")


class SingleChange(Said):
    """One change to the offer."""

    kind: Literal["remove", "portion", "swap", "add", "take", "with"] = Field(
        description="What the change does: an item removed, another portion (of this child alone where it has an amount of its own), one food for another, a food added, another number to take from a group (take), or one item along with another (with)."
    )
    group: str = Field(description="Id of the choice group.")
    item: str | None = Field(description="Key of the item that goes or changes, or along with which more is taken.")
    new_item: str | None = Field(description="Key of what comes in.")
    instead_of: str | None = Field(description="Id of the food that it takes the place of; null: none.")
    instead_of_name: str | None = Field(description="Name of the food that it takes the place of; null: none.")
    food: str | None = Field(description="Id of the food; of an own food, recipe or label its kind or name.")
    name: str | None = Field(description="Name of the food, for people; null: no food comes in.")
    quantity: float | None = Field(description="How many of `unit`; null: no food comes in.")
    unit: str | None = Field(description="g, or the household unit of the food that quantity counts.")
    grams: float | None = Field(description="Weight in grams; null: no food comes in.")
    form: str | None = Field(description="How the food that comes in is cut; the change rests on it.")
    take: TakeShown | None = Field(description="How many are then taken from the group.")
    rule: RuleShown | None = Field(description="The rule that is added.")


class OfferChangeShown(Said):
    """One change, or two together, with the count after it."""

    changes: list[SingleChange] = Field(description="The change, or the two that are made together.")
    total_after: int = Field(description="Number of lunches there are after it.")
    right_after: int = Field(description="Number of lunches that keep every rule after it, as `right` of the child.")
    right_once_read_after: int = Field(
        description="The same if no packet still to be read turns out to name what the child must avoid; changes are ranked by it."
    )
    right_share_after: float = Field(description="Share of right lunches after it, 0 to 1.")
    mended: int = Field(
        description="How many more lunches keep every rule once all packets are read; negative where fewer right lunches are left though their share grows, which a sentence then says."
    )


class Estimated(ReplyModel):
    """An estimate from a sample, where there are too many lunches to count."""

    note: str = Field(description="How the estimate was made, in a sentence.")
    note_message: AsCode
    sampled: int = Field(description="Number of lunches that were drawn at random.")
    right_share: float = Field(description="Estimated share of lunches that keep every rule, 0 to 1.")
    low: float = Field(description="Lower end of the interval for that share, 0 to 1.")
    high: float = Field(description="Upper end of the interval for that share, 0 to 1.")
    confidence: float = Field(description="Confidence of the interval, 0 to 1.")


class OfferChildReply(Said):
    """One child's part of an audit."""

    nickname: str | None = Field(description="The nickname as it was sent; null: none.")
    standard: StandardUsed = Field(description="The standard it was checked against.")
    left_out: list[LeftOut] = Field(description="Items that this child is not offered.")
    nothing_left_in: list[str] = Field(
        description="Groups in which nothing is left, or less than is to be taken from them."
    )
    total: int = Field(description="Number of different lunches that the offer allows this child.")
    counted: bool = Field(
        description="True: all of these lunches were judged; false: there are too many, and `estimate` is made from a sample."
    )
    right: int | None = Field(
        description="Number of lunches that keep every rule, as a single check would find: verdict `pack`; null: not counted."
    )
    wrong: int | None = Field(description="Number of lunches that break a rule; null: not counted.")
    unknown: int | None = Field(
        description="Number of lunches of which it is not known, because a figure, a form or how they are kept is missing; null: not counted."
    )
    check_label: int = Field(description="Number of lunches that hold a packet still to be read, counted apart.")
    right_once_read: int | None = Field(
        description="Number of lunches that keep every rule if no packet still to be read turns out to name what the child must avoid; items and changes are counted so; null: not counted."
    )
    right_share: float | None = Field(description="Share of lunches that keep every rule, 0 to 1; null: not counted.")
    causes: list[Cause] = Field(description="What most lunches break, most often first, up to three.")
    targets: list[OfferTarget] = Field(description="One for each target of the standard.")
    items: list[OfferItem] = Field(description="One for each item of the offer that the child may take.")
    measures: dict[str, MeasureSpread] = Field(description="How the lunches are spread, by the id of the measure.")
    best: list[OfferExample] = Field(description="The best lunches.")
    worst: list[OfferExample] = Field(description="The worst lunches.")
    changes: list[OfferChangeShown] = Field(
        description="Changes to the offer after which more of the lunches keep every rule."
    )
    changes_note: str = Field(description="What was looked for, in a sentence.")
    changes_note_message: SaidMessage | None = Field(description="The same as a code and its values.")
    estimate: Estimated | None = Field(description="An estimate; null: all were counted.")
    rules_not_kept: list[RuleNotKept] = Field(
        description="Rules of the family that this child cannot keep; an item whose rule cannot be kept is in no lunch."
    )
    yardsticks: list[OfferYardstick] = Field(
        description="The yardsticks that were asked for, each over all lunches: they change nothing of the answer."
    )
    cut_for: list[CutFor] = Field(description="Items to be cut in another form for this child.")
    handling: list[HandlingInOffer] = Field(
        description="Forms and ways of keeping that count against lunches or are not known, with what to do."
    )
    products: list[ProductInOffer] = Field(
        description="Products that count against lunches whatever lies beside them, such as a yogurt over its limit of added sugar, or of which that is not known."
    )
    card: Card | None = Field(description="What the child reads; null: there is no lunch for the child.")
    notes: list[str] = Field(description="Remarks, in sentences of English.")
    note_messages: AsCodes


class PacketToRead(Said):
    """A packet whose reading would settle lunches."""

    food: str | None = Field(description="Id of the food, for `packets`; null: its label came with the request.")
    name: str = Field(description="Name of the food, for people.")
    items: list[list[str]] = Field(
        description="The items that it is, or that are made with it: id of the group and key in it."
    )
    children: list[str] = Field(description="Nicknames of the children for whom it is to be read.")
    allergens: list[str] = Field(description="Names of the allergens to look for.")
    lunches: int = Field(description="Number of lunches of these children that depend on it.")


class LabelOrMove(ReplyModel):
    """An item that one child may take and another must not."""

    group: str = Field(description="Id of the choice group.")
    item: str = Field(description="Key of the item in its group.")
    name: str = Field(description="Name of the food, for people.")
    not_for: list[str] = Field(description="Nicknames of the children that must not take it.")
    reasons: list[str] = Field(description="Why, in sentences of English.")
    reason_messages: AsCodes
    advice: str = Field(description="What to do, in a sentence.")
    advice_message: AsCode


class OfferAuditReply(ReplyModel):
    """The answer to an offer audit."""

    on: str = Field(description="The day whose rules were used, YYYY-MM-DD.", json_schema_extra={"format": "date"})
    children: list[OfferChildReply] = Field(description="One for each child.")
    to_read: list[PacketToRead] = Field(
        description="Packets to read before their foods can be taken, those on which most lunches depend first."
    )
    to_read_once: list[PacketToRead] = Field(
        description="Packets to read once, of foods that stay on offer because the allergen is not usual in them; those on which most lunches depend first."
    )
    to_label_or_move: list[LabelOrMove] = Field(description="Items that one child may take and another must not.")
    cautions: list[str] = Field(description="What to bear in mind, in sentences of English.")
    caution_messages: AsCodes
