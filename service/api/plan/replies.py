"""The published shapes of what is planned."""

from datetime import date

from pydantic import Field

from service.api.replies import AsCode, AsCodes, ReplyModel, Said


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
    grams: float = Field(description="Weight of one portion, in grams.")
    always: int | None = Field(description="Portions of it among those that are always enough; null: none are.")
    usual: int | None = Field(description="Portions of it among those that are usually enough; null: none are.")
    cost_minor: int | None = Field(description="What a portion costs, in whole minor units; null: it has no price.")
    may_take: list[str] = Field(description="Nicknames of the children who may take it.")


class PortionsOfGroup(Said):
    """One choice group: the portions that are enough, in a sentence and by item."""

    group: str = Field(description="Id of the choice group.")
    exact: bool = Field(
        description="False: a rule or another group can take its place, so that fewer portions may do than are said here."
    )
    always: AlwaysEnough = Field(description="Enough whatever is taken.")
    usual: UsuallyEnough | None = Field(description="Enough in most cases; null: no number of portions is.")
    items: list[PortionsOfItem] = Field(description="The items that at least one child may take.")
    costs: str | None = Field(description="What they cost, in a sentence of English; null: not every item has a price.")
    costs_message: AsCode | None
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
