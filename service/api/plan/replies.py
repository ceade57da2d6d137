"""The published shapes of what is planned."""

from datetime import date

from pydantic import Field

from service.api.offers.replies import CutFor, LeftOut, TakeShown
from service.api.replies import AsCode, AsCodes, ReplyModel, Said
from service.jobs.offers.requests import OfferIn
from service.jobs.word_lists import KnownTaste, Wish


class PortionsChosen(ReplyModel):
    """Portions of one choice group, and what they cost."""

    portions: int = Field(description="Number of portions of all its items together.")
    cost_minor: int | None = Field(
        description="What they cost, in whole minor units of the currency; null: an item has no price."
    )


class AlwaysEnough(PortionsChosen):
    """Portions with which nobody can be left short, whatever was taken before."""

    proven: bool = Field(description="Whether it is proven that no cheaper (or fewer) portions are enough.")


class UsuallyEnough(PortionsChosen):
    """Portions that are enough in most cases, where everybody chooses freely among what is left."""

    chance: float = Field(description="How often they are enough, 0 to 1.")
    error: float | None = Field(
        description="How far the chance may be off (95 % interval of a sample); null: it was counted exactly."
    )


class PortionsOfItem(ReplyModel):
    """One item of a group: how many portions of it, and who may take it."""

    item: str = Field(description="Key of the item in its group.")
    name: str = Field(description="Name of the food, for people.")
    grams: float = Field(
        description="Weight of one portion, in grams; where children get different amounts, of the largest."
    )
    always: int | None = Field(description="Portions of it among those that are always enough; null: none are.")
    usual: int | None = Field(description="Portions of it among those that are usually enough; null: none are.")
    cost_minor: int | None = Field(description="What a portion costs, in whole minor units; null: it has no price.")
    may_take: list[str] = Field(description="Nicknames of the children who may take it.")


class ShareOfItem(ReplyModel):
    """How readily a child takes an item."""

    item: str = Field(description="Key of the item in its group.")
    share: float = Field(description="Its share of what the child takes of its own accord, 0 to 1; 1 with all others.")


class TakesReadily(Said):
    """How readily a child takes each item that it may take, as the usual portions go by it."""

    name: str = Field(description="Nickname of the child, or its place where none was sent.")
    how: KnownTaste
    lunches: int = Field(description="From how many logged lunches it was learned; 0: from none.")
    shares: list[ShareOfItem] = Field(description="The items it may take; empty where all count the same.")


class PortionsOfGroup(Said):
    """One choice group: the portions that are enough, in a sentence and by item."""

    group: str = Field(description="Id of the choice group.")
    exact: bool = Field(
        description="False: a rule or another group can take its place, so that fewer portions may be enough than is said here."
    )
    always: AlwaysEnough = Field(description="Enough whatever is taken.")
    usual: UsuallyEnough | None = Field(description="Enough in most cases; null: no number of portions is.")
    items: list[PortionsOfItem] = Field(description="The items that at least one child may take.")
    costs: str | None = Field(description="What they cost, in a sentence of English; null: not every item has a price.")
    costs_message: AsCode | None
    readily: list[TakesReadily] = Field(
        description="How readily each child takes what it may take; a child that has no choice is left out."
    )
    nothing_for: list[str] = Field(description="Nicknames of children who may take too few of the items.")


class LunchesRight(ReplyModel):
    """How many of the lunches that a child may take are right."""

    nickname: str | None = Field(description="Nickname of the child, as sent.")
    right: int | None = Field(description="Number of right lunches; null: the offer was too large to count.")
    total: int = Field(description="Number of lunches that the offer allows.")
    to_mend: bool = Field(description="Whether some lunch is not right, or it is not known: audit the offer.")


class PortionNeedsReply(ReplyModel):
    """How many portions of an offer are enough for some days."""

    days: list[date] = Field(description="The days, in order.")
    currency: str | None = Field(description="ISO 4217 code of the prices; null: none were known.")
    digits: int | None = Field(description="Decimals of the currency; null: no prices were known.")
    cheapest: bool = Field(description="Whether the cheapest portions are given; false: the fewest.")
    unpriced: list[str] = Field(description="Names of foods without a price, where other foods have one.")
    children: list[LunchesRight] = Field(description="The children, in the order of the request.")
    groups: list[PortionsOfGroup] = Field(description="The choice groups, in the order of the offer.")
    notes: list[str] = Field(description="What to know of the answer, in sentences of English.")
    note_messages: AsCodes
    cautions: list[str] = Field(description="The usual cautions, in sentences of English.")
    caution_messages: AsCodes


class PortionOfChild(ReplyModel):
    """The amount in which one child gets an item, where it is not the usual one."""

    child: str = Field(description="Nickname of the child; without one, its place among the children.")
    quantity: float = Field(description="How many of the unit of the item.")


class DesignedItem(ReplyModel):
    """A food of the offer, and in which amount each child gets it."""

    item: str = Field(description="Key of the item in its group.")
    food: str | None = Field(description="Id of the food; null: it was sent along.")
    name: str = Field(description="Name of the food, for people.")
    quantity: float = Field(description="How many of the unit most children get.")
    unit: str = Field(description="The unit of the amounts.")
    portions: list[PortionOfChild] = Field(description="The children who get another amount.")
    not_for: list[str] = Field(description="Nicknames of children who must not have it, or do not take it.")


class DesignedGroup(ReplyModel):
    """A choice group of the offer."""

    id: str = Field(description="Id of the choice group.")
    take: TakeShown = Field(description="How many are taken.")
    items: list[DesignedItem] = Field(description="The foods that are set out.")


class WeekKept(ReplyModel):
    """How often a week of lunches, each taken by chance, keeps a target for the week's mean."""

    id: str = Field(description="Id of the target.")
    label: str = Field(description="The target, for people.")
    least: float = Field(description="The least the chance can be, 0 to 1.")
    most: float = Field(description="The most the chance can be, 0 to 1.")


class DesignedChild(ReplyModel):
    """What the exact count of every lunch says for one child."""

    nickname: str | None = Field(description="Nickname of the child, as sent.")
    right: int | None = Field(description="Number of right lunches; null: there were too many to count.")
    right_once_read: int | None = Field(description="The same once the packets are read.")
    total: int = Field(description="Number of lunches that the offer allows.")
    choices: dict[str, int] = Field(description="How many foods it finds at least, by group.")
    weeks: list[WeekKept] = Field(description="The targets for the week's mean.")
    left_out: list[LeftOut] = Field(description="What it is not offered, and why.")
    cut_for: list[CutFor] = Field(description="What is to be cut in another form for it.")


class RowInTheWay(ReplyModel):
    """A target that no choice of the foods keeps, and what each group adds to it at best."""

    id: str = Field(description="Id of the target.")
    label: str = Field(description="The target, for people.")
    short: bool = Field(description="Whether too little is reached; false: too much.")
    unit: str = Field(description="Unit of the amounts; empty: a share of energy, which has none.")
    wanted: float | None = Field(description="What the target asks of one lunch; null: see unit.")
    at_best: float | None = Field(description="What the best choice comes to; null: see unit.")
    groups: dict[str, float | None] = Field(description="What each group adds to it then.")


class GroupTooSmall(ReplyModel):
    """A group in which a child may have too few foods."""

    group: str = Field(description="Id of the choice group.")
    foods: int = Field(description="Number of foods that it may have.")
    choices: int = Field(description="Number of foods that it should find.")


class RuleNamed(ReplyModel):
    """A rule."""

    id: str = Field(description="Id of the target.")
    label: str = Field(description="The target, for people.")


class WouldHelp(ReplyModel):
    """A food which, set out besides the others, would take away what stands in the way first."""

    group: str = Field(description="Id of the choice group it would be added to.")
    food: str = Field(description="Id of the food.")
    name: str = Field(description="Name of the food, for people.")
    quantity: float = Field(description="How many of the unit.")
    unit: str = Field(description="The unit of the amount.")


class ChildBlocked(Said):
    """Why no offer was found, for one child."""

    child: str = Field(description="Nickname of the child; without one, its place among the children.")
    rows: list[RowInTheWay] = Field(description="Targets that no choice keeps, the one missed most first.")
    groups: list[GroupTooSmall] = Field(description="Groups with too few foods for the child.")
    together: list[RuleNamed] = Field(description="Targets that no choice from `group` keeps all at once.")
    group: str | None = Field(description="The group of `together`; null: none.")
    would_help: list[WouldHelp] = Field(
        description="Foods that would take away the first of the targets; where a group has too few foods, some that the child may have."
    )


class OfferDesignReply(Said):
    """An offer from which nobody can take a lunch that is not right; or what stands in the way."""

    on: date = Field(description="The day, as sent.")
    found: bool = Field(description="Whether there is an offer.")
    wish: Wish = Field(description="The wish, as sent.")
    groups: list[DesignedGroup] = Field(description="The choice groups; empty: none was found.")
    offer: OfferIn | None = Field(
        description="The same offer as it is stored (`POST /v1/offers`, with a name) and audited (`POST /v1/offer-audits`), with "
        "the ids of own foods and stored children where these were sent; null: none was found."
    )
    children: list[DesignedChild] = Field(
        description="The children, in the order of the request; empty: none was found."
    )
    in_the_way: list[ChildBlocked] = Field(description="What stands in the way, a row a child; empty: one was found.")
    currency: str | None = Field(description="ISO 4217 code of the prices; null: none were known.")
    digits: int | None = Field(description="Decimals of the currency; null: no prices were known.")
    lunch_minor: int | None = Field(
        description="What a lunch costs on average, in whole minor units; null: not every food has a price."
    )
    proven: bool = Field(description="Whether no choice of foods is better by the wish, amounts aside; false: found.")
    notes: list[str] = Field(description="What to know of the answer, in sentences of English.")
    note_messages: AsCodes
    cautions: list[str] = Field(description="The usual cautions, in sentences of English.")
    caution_messages: AsCodes
