"""What a person asks about an offer: choice groups, the children, and what to look into."""

from collections.abc import Sequence
from datetime import date
from typing import Annotated

from pydantic import Field, PrivateAttr, model_validator

from service.domain.messages import message
from service.jobs.requests.fields import WHOLE, Amount, Asked, Day, KeptOr, Name, Region, conflict, every_region
from service.jobs.requests.foods import PACKETS, SALTS_COOKING_WATER, AnyFood, Packet, food_key
from service.jobs.requests.lunches import HoldingConditions, LunchItem, Offered
from service.jobs.requests.people import YARDSTICKS, Child, Setting, Yardsticks

MOST_GROUPS = 20
MOST_IN_GROUP = 400
MOST_CHILDREN = 30
MOST_TAKEN = 6
A_NICKNAME = "(a nickname)"
"""What a fault shows in the place of a nickname."""


class KeyedItem(LunchItem):
    """One item of a choice group, in its portion."""

    key: Name | None = Field(
        None, description="A name that is unique within the group; left out: the food's id or name."
    )


class ChildPortion(Asked):
    """The amount in which one child gets an item."""

    child: Name = Field(
        description="Nickname of the child, as sent; a child without one goes by its place: `child 1`. With a household's key "
        "also the id of a stored child, and in a stored offer always that."
    )
    quantity: Amount = Field(description="How many of the `unit` of the item.")


class OfferedItem(KeyedItem):
    """One item of a choice group, in its portion, and in another for some of the children."""

    portions: Annotated[list[ChildPortion], Field(max_length=MOST_CHILDREN)] = Field(
        default_factory=list, description="Children who get another amount than `quantity`."
    )


class HowMany(Asked):
    """How many items are taken from a group."""

    at_least: Annotated[int, Field(ge=0, le=MOST_TAKEN), WHOLE] = Field(
        1, description="Fewest items taken from the group."
    )
    at_most: Annotated[int, Field(ge=0, le=MOST_TAKEN), WHOLE] = Field(
        1, description="Most items taken from the group."
    )
    repeats: bool = Field(False, description="The same item may be taken again.")

    @model_validator(mode="after")
    def _ordered(self) -> "HowMany":
        if self.at_least > self.at_most:
            raise conflict(message("fault.least-above-most"))
        return self


class OfferGroup(Asked):
    """One choice group."""

    id: Name = Field(description="A name of its own within the offer.")
    items: Annotated[list[OfferedItem], Field(min_length=1, max_length=MOST_IN_GROUP)] = Field(
        description="The items to choose from."
    )
    take: HowMany = Field(default_factory=HowMany, description="How many items are taken.")


class WithItem(Asked):
    """With one item of a group, another number is taken from another group."""

    group: Name = Field(description="Id of the group.")
    item: Name = Field(description="Key of the item in its group.")
    then_group: Name = Field(description="Id of the group from which another number is taken.")
    take: HowMany = Field(description="How many items are taken.")


class OfferIn(Asked):
    """What is set out: choice groups, groups that stand in for each other, and rules between them."""

    groups: Annotated[list[OfferGroup], Field(min_length=1, max_length=MOST_GROUPS)] = Field(
        description="The choice groups."
    )
    alternatives: Annotated[
        list[Annotated[list[Name], Field(min_length=2, max_length=MOST_GROUPS)]], Field(max_length=MOST_GROUPS)
    ] = Field(default_factory=list, description="Sets of group ids of which exactly one group is used.")
    rules: Annotated[list[WithItem], Field(max_length=8)] = Field(
        default_factory=list, description="With an item of one group, another number from another group."
    )


class ItemRef(Asked):
    """One item of the offer."""

    group: Name = Field(description="Id of the group.")
    item: Name = Field(description="Key of the item in its group.")


class OtherTake(Asked):
    """Another number to take from a group, for one child."""

    group: Name = Field(description="Id of the group.")
    take: HowMany = Field(description="How many items are taken.")


class OfferChild(Child):
    """A child of the family, with the standard to hold its lunches against and what differs for it."""

    standard: Name = Field(description="Standard id, see GET /v1/standards.")
    without: Annotated[list[ItemRef], Field(max_length=200)] = Field(
        default_factory=list, description="Items this child does not take (a dislike)."
    )
    takes: Annotated[list[OtherTake], Field(max_length=MOST_GROUPS)] = Field(
        default_factory=list, description="Other numbers to take, for this child."
    )
    yardsticks: Yardsticks = YARDSTICKS


class SampleSize(Asked):
    """Estimate from a sample instead of counting all."""

    lunches: Annotated[int, Field(ge=1_000, le=1_000_000), WHOLE] = Field(
        100_000, description="How many lunches to draw."
    )
    seed: Annotated[int, Field(ge=0, le=2**31), WHOLE] = Field(
        1, description="Where the drawing begins: the same seed draws the same lunches."
    )


class FamilyWithIds(Asked):
    """The children that something is for, and what is known of foods and of how lunches are kept; ids may be of stored records."""

    children: Annotated[Sequence[KeptOr[OfferChild]], Field(min_length=1, max_length=MOST_CHILDREN)] = Field(
        description="With a household's key also ids of stored children, who do not take what they dislike."
    )
    setting: Setting = Field(default_factory=Setting, description="What the classroom or school bans.")
    holding: HoldingConditions | None = Field(
        None,
        description="How lunches are kept until they are eaten; left out: as the household has stored it, otherwise not known.",
    )
    regions: Annotated[list[Region], Field(min_length=1, max_length=20)] = Field(
        default_factory=lambda: list(every_region()), description="Whose handling guidance to use; the stricter counts."
    )
    packets: list[Packet] = PACKETS
    salts_cooking_water: bool | None = SALTS_COOKING_WATER


class OfferForFamilyWithIds(FamilyWithIds):
    """An offer and the children it is for; offer, children and foods may be ids of stored records."""

    offer: KeptOr[OfferIn] = Field(description="With a household's key also the id of a stored offer.")


class OfferAuditWithIds(OfferForFamilyWithIds):
    """Every lunch that an offer allows, for each child; offer, children and foods may be ids of stored records."""

    on: Day = Field(description="The day, YYYY-MM-DD; the rules in force on it are used.")
    measures: Annotated[list[Name], Field(max_length=45)] | None = Field(
        None, description="Measures to spread out; left out: those the child's targets look at."
    )
    examples: Annotated[int, Field(ge=0, le=5), WHOLE] = Field(
        5, description="How many best and worst lunches to show."
    )
    max_changes: Annotated[int, Field(ge=0, le=5), WHOLE] = Field(
        3, description="How many changes to the offer to look for."
    )
    exact_weeks: bool = Field(
        False,
        description="Count the chance of a week's mean exactly, where figures are known and the five days have up to some "
        "millions of different sums; takes up to a second more a child. False: larger offers get a narrow interval that "
        "holds it.",
    )
    wanted_share: Annotated[float, Field(gt=0, le=1)] = Field(
        0.95, description="Share of right lunches that is enough: no changes are looked for beyond it."
    )
    swap_foods: Annotated[list[Offered], Field(max_length=400)] | None = Field(
        None, description="Foods that may come in; left out: the lunch foods."
    )
    estimate: SampleSize | None = Field(
        None,
        description="Give this for an offer too large to count. Where several groups have the same foods in more ways than are "
        "counted, an estimate rounds the credits of these foods group by group, not once for the lunch.",
    )


class OfferAuditRequest(OfferAuditWithIds):
    """Every lunch that an offer allows, for each child."""

    _days: tuple[date, ...] = PrivateAttr(())

    offer: OfferIn = Field(description="What is set out.")
    children: Annotated[list[OfferChild], Field(min_length=1, max_length=MOST_CHILDREN)] = Field(
        description="The children."
    )

    def for_days(self, days: Sequence[date]) -> "OfferAuditRequest":
        """The same request, for lunches of several days: what is known of an allergen has to be known on each of them."""
        self._days = tuple(days)
        return self

    @property
    def days(self) -> tuple[date, ...]:
        """The days of the lunches."""
        return self._days or (self.on,)


def item_key(key: str | None, food: AnyFood) -> str:
    """The key of an item: its own, the food's id, or the name of a food sent along."""
    return key or food_key(food)
