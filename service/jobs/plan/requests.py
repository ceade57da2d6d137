"""What a person asks of a plan, as strict models."""

from collections.abc import Sequence
from datetime import date
from typing import Annotated, Any, Protocol

from pydantic import Field, PrivateAttr, model_validator

from service.domain.messages import message
from service.domain.plan.portions.learned import TakenLunch
from service.jobs.offers.requests import (
    MOST_CHILDREN,
    MOST_GROUPS,
    ChildPortion,
    FamilyWithIds,
    HowMany,
    ItemRef,
    KeyedItem,
    OfferAuditRequest,
    OfferAuditWithIds,
    OfferChild,
    OfferedItem,
    OfferForFamilyWithIds,
    OfferGroup,
    OfferIn,
    SampleSize,
    WithItem,
)
from service.jobs.requests.fields import WHOLE, Amount, Asked, Day, Name, conflict
from service.jobs.weeks.requests import PriceAsked
from service.jobs.word_lists import Wish

MOST_DAYS = 31
MOST_PORTIONS = 10_000

Portions = Annotated[int, Field(ge=0, le=MOST_PORTIONS), WHOLE]
PRICES: Any = Field(
    default_factory=list,
    max_length=1_000,
    description="What packs of foods cost; with a household's key its stored prices where none are sent.",
)


class OfChild(Protocol):
    """A part of a request that is about one of its children, by the child's place."""

    @property
    def child(self) -> int | None:
        """Its place among the children, counted from 0."""


def see_each_day_once(name: str, days: Sequence[date]) -> None:
    """A fault where a list of days has one twice."""
    for place, day in enumerate(days):
        if day in days[:place]:
            raise conflict(message("fault.day-twice"), (name, place), day)


def see_known_children(name: str, rows: Sequence[OfChild], number: int) -> None:
    """A fault where a row of the list ``name`` is about a child that is not among the ``number`` of the request."""
    for place, one in enumerate(rows):
        if one.child is not None and one.child >= number:
            raise conflict(message("fault.no-such-child", number=number), (name, place, "child"), one.child)


def see_known_days(rows: Sequence["NotThere"], days: Sequence[date]) -> None:
    """A fault where a child is away on a day that is not asked for."""
    for place, one in enumerate(rows):
        for nth, day in enumerate(one.days):
            if day not in days:
                raise conflict(message("fault.not-there-unknown"), ("not_there", place, "days", nth), day)


class NotThere(Asked):
    """A child who takes nothing from the offer on some of the days: it buys, or is not at school."""

    child: Annotated[int, Field(ge=0, lt=MOST_CHILDREN), WHOLE] = Field(
        description="Its place among the children, counted from 0."
    )
    days: Annotated[list[Day], Field(min_length=1, max_length=MOST_DAYS)] = Field(description="The days, YYYY-MM-DD.")


class AtLeast(ItemRef):
    """Portions of an item to have in any case."""

    portions: Portions = Field(description="Number of portions.")


class Liked(ItemRef):
    """How readily a child takes an item."""

    child: Annotated[int, Field(ge=0, lt=MOST_CHILDREN), WHOLE] = Field(
        description="Its place among the children, counted from 0."
    )
    times: Annotated[float, Field(ge=0, le=100)] = Field(
        description="How many times as often it takes this item as one that is not listed; 0: not of its own accord."
    )


def counted_alone(asked: FamilyWithIds, shared: type[FamilyWithIds]) -> dict[str, Any]:
    """What an audit that only counts lunches is asked with: what was said of the fields of ``shared``, and nothing beside the count.

    What was not asked stays so, for the household to say.
    """
    said = {name: getattr(asked, name) for name in shared.model_fields if name in asked.model_fields_set}
    return {**said, "measures": [], "examples": 0, "max_changes": 0, "swap_foods": []}


class PortionNeedsWithIds(OfferForFamilyWithIds):
    """How many portions of an offer are enough for some days; offer, children and foods may be ids of stored records."""

    days: Annotated[list[Day], Field(min_length=1, max_length=MOST_DAYS)] = Field(
        description="The school days on which it is set out, YYYY-MM-DD; the rules in force on the first are used, and a packet counts where it holds on every one of them."
    )
    not_there: Annotated[list[NotThere], Field(max_length=MOST_CHILDREN)] = Field(
        default_factory=list, description="Children who take nothing on some of the days."
    )
    of_each: Portions = Field(
        1, description="Fewest portions of each item that a child may take, so that there is a choice."
    )
    at_least: Annotated[list[AtLeast], Field(max_length=400)] = Field(
        default_factory=list, description="Portions of single items to have in any case."
    )
    chance: Annotated[float, Field(ge=0.5, le=0.999)] = Field(
        0.95, description="How often the usual number of portions should be enough."
    )
    liked: Annotated[list[Liked], Field(max_length=2_000)] = Field(
        default_factory=list,
        description="What children like better or less. Left out: with a household's key what a stored child took when it was on "
        "offer, in its last 60 logged lunches; otherwise, and where it is an empty list, every item equally.",
    )
    prices: Annotated[list[PriceAsked], Field(max_length=1_000)] = Field(
        default_factory=list,
        description="What packs of foods cost; with a household's key its stored prices where none are sent. Where every item "
        "has a price the cheapest portions are found, otherwise the fewest.",
    )
    seed: Annotated[int, Field(ge=0, le=2**31), WHOLE] = Field(
        1, description="Seed of the random sample, if one is needed: the same seed gives the same answer."
    )

    @model_validator(mode="after")
    def _fits(self) -> "PortionNeedsWithIds":
        see_each_day_once("days", self.days)
        see_known_children("not_there", self.not_there, len(self.children))
        see_known_days(self.not_there, self.days)
        see_known_children("liked", self.liked, len(self.children))
        return self

    def audit_with_ids(self) -> OfferAuditWithIds:
        """The audit of the same offer for the same children, on the first day."""
        return OfferAuditWithIds(**self._of_audit())

    def _of_audit(self) -> dict[str, Any]:
        return {**counted_alone(self, OfferForFamilyWithIds), "estimate": SampleSize(), "on": min(self.days)}


class DesignItem(KeyedItem):
    """A food that may be set out, and the amounts in which a child may get it."""

    quantities: Annotated[list[Amount], Field(max_length=6)] = Field(
        default_factory=list, description="Other amounts, in `unit`, that a child may be given instead of `quantity`."
    )
    at_hand: bool = Field(False, description="Whether it is at home already: for the wish `least_to_buy`.")

    def offered(self, quantity: float | None = None, portions: Sequence[ChildPortion] = ()) -> OfferedItem:
        """The same food as an offer holds it. ``quantity``: what most children get; left out: as asked for."""
        fields = {name: getattr(self, name) for name in KeyedItem.model_fields}
        return OfferedItem(**fields | {"quantity": quantity or self.quantity, "portions": list(portions)})


class DesignGroup(Asked):
    """A choice group to be filled: the foods that may be in it, how many are taken, and how many are wanted."""

    id: Name = Field(description="A name of its own within the offer.")
    items: Annotated[list[DesignItem], Field(min_length=1, max_length=200)] = Field(
        description="The foods that may be in it."
    )
    take: HowMany = Field(default_factory=HowMany, description="How many items are taken.")
    choices: Annotated[int, Field(ge=1, le=20), WHOLE] = Field(
        3, description="How many foods each child should find in it at least, if possible."
    )
    most_choices: Annotated[int, Field(ge=1, le=40), WHOLE] = Field(
        6, description="How many foods are set out in it at most."
    )

    @model_validator(mode="after")
    def _fits(self) -> "DesignGroup":
        if self.choices > self.most_choices or self.take.at_least > self.most_choices:
            raise conflict(message("fault.choices-above-most"), ("most_choices",), self.most_choices)
        return self


class OfferDesignWithIds(FamilyWithIds):
    """An offer from which nobody can take a lunch that is not right; children and foods may be ids of stored records."""

    on: Day = Field(description="The day, YYYY-MM-DD; the rules in force on it are used.")
    groups: Annotated[list[DesignGroup], Field(min_length=1, max_length=MOST_GROUPS)] = Field(
        description="The choice groups."
    )
    alternatives: Annotated[
        list[Annotated[list[Name], Field(min_length=2, max_length=MOST_GROUPS)]], Field(max_length=MOST_GROUPS)
    ] = Field(default_factory=list, description="Sets of group ids of which exactly one group is used.")
    rules: Annotated[list[WithItem], Field(max_length=8)] = Field(
        default_factory=list,
        description="With an item of one group, another number from another group; not from a group whose items may be taken "
        "again. With rules or alternatives less is looked for that weeks keep their targets.",
    )
    wish: Wish = Field(
        "cheapest", description="What counts among offers that are right: the price, variety, or what is at hand."
    )
    recently: Annotated[list[Name], Field(max_length=400)] = Field(
        default_factory=list, description="Foods set out in the last weeks, by id: for the wish `most_variety`."
    )
    seconds: Annotated[float, Field(ge=0.1, le=60)] = Field(10.0, description="How long to look, in seconds.")
    prices: list[PriceAsked] = PRICES

    def audit_with_ids(self) -> OfferAuditWithIds:
        """The audit of all foods together for the same children."""
        return OfferAuditWithIds(**self._of_audit())

    def _of_audit(self) -> dict[str, Any]:
        return {**counted_alone(self, FamilyWithIds), "on": self.on, "offer": self.all_together()}

    def all_together(self) -> OfferIn:
        """Everything that may be set out as one offer."""
        return OfferIn(
            groups=[
                OfferGroup(id=one.id, items=[item.offered() for item in one.items], take=one.take)
                for one in self.groups
            ],
            alternatives=self.alternatives,
            rules=self.rules,
        )


class OfferDesignRequest(OfferDesignWithIds):
    """An offer from which nobody can take a lunch that is not right."""

    _sent: OfferDesignWithIds | None = PrivateAttr(None)

    children: Annotated[list[OfferChild], Field(min_length=1, max_length=MOST_CHILDREN)] = Field(
        description="The children."
    )

    def audit(self) -> OfferAuditRequest:
        """The audit of all foods together for the same children."""
        return OfferAuditRequest(**self._of_audit())

    def sent_as(self, sent: OfferDesignWithIds) -> "OfferDesignRequest":
        """The same request, which remembers the ids that it was sent with: what is found is told with them."""
        self._sent = sent
        return self

    @property
    def sent(self) -> OfferDesignWithIds:
        """The request as it was sent, with ids of stored records where these were given."""
        return self._sent or self


class PortionNeedsRequest(PortionNeedsWithIds):
    """How many portions of an offer are enough for some days."""

    _taken_before: Sequence[Sequence[TakenLunch]] = PrivateAttr(())

    offer: OfferIn = Field(description="What is set out.")
    children: Annotated[list[OfferChild], Field(min_length=1, max_length=MOST_CHILDREN)] = Field(
        description="The children."
    )

    def audit(self) -> OfferAuditRequest:
        """The audit of the same offer for the same children, on the first day."""
        return OfferAuditRequest(**self._of_audit()).for_days(self.days)

    def knowing(self, taken_before: Sequence[Sequence[TakenLunch]]) -> "PortionNeedsRequest":
        """The same request, which knows what each child took before."""
        self._taken_before = taken_before
        return self

    @property
    def taken_before(self) -> Sequence[Sequence[TakenLunch]]:
        """For each child the lunches that it took from an offer; empty where nothing is to be learned from them."""
        return self._taken_before
