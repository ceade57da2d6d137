"""What a person asks of a plan of one to four weeks, as strict models."""

from collections.abc import Sequence
from datetime import timedelta
from typing import Annotated, Any, Literal

from pydantic import Field, PrivateAttr, model_validator
from typing_extensions import TypeAliasType

from service.domain.messages import message
from service.domain.plan.portions.learned import TakenLunch
from service.jobs.offers.requests import (
    MOST_CHILDREN,
    FamilyWithIds,
    ItemRef,
    OfferAuditRequest,
    OfferAuditWithIds,
    OfferChild,
    OfferIn,
    item_key,
)
from service.jobs.plan.requests import (
    PRICES,
    NotThere,
    counted_alone,
    see_each_day_once,
    see_known_children,
    see_known_days,
)
from service.jobs.requests.fields import WHOLE, Asked, Day, KeptOr, Name, StorageClassId, conflict
from service.jobs.weeks.requests import MealPriceAsked, Menu, PriceAsked
from service.jobs.word_lists import Freezes, Place

MOST_SPAN = 28
"""Days from the first to the last school day of a plan: four weeks."""
MOST_OFFERS = 20
MOST_DISHES = 60
MOST_LOTS = 400
QUARTERS = 4
"""Parts of a batch, of a dish of which parts can be made."""

BatchPortions = Annotated[int, Field(ge=1, le=1_000), WHOLE]
ChildPlace = Annotated[int, Field(ge=0, lt=MOST_CHILDREN), WHOLE]
PlanWay = TypeAliasType(
    "PlanWay",
    Annotated[
        Literal["offers", "lunches"],
        Field(
            description="offers: an offer is set out on each day and the children choose; lunches: each child is given a lunch "
            "for each day."
        ),
    ],
)
PlanAmounts = TypeAliasType(
    "PlanAmounts",
    Annotated[
        Literal["always", "usual"],
        Field(
            description="always: enough whatever is taken; usual: enough in most cases, with a household's key by what each child takes, "
            "learned from its logged lunches."
        ),
    ],
)


class PlanOffer(Asked):
    """An offer that may be set out on some of the days."""

    id: Name = Field(description="A name of its own within the plan.")
    offer: KeptOr[OfferIn] = Field(description="With a household's key also the id of a stored offer.")


class PlanOfferInFull(PlanOffer):
    """An offer that may be set out on some of the days."""

    offer: OfferIn = Field(description="What is set out.")


class DishWithIds(Asked):
    """A food of the offers that is made in batches on a prep day, and how long it keeps; it may be a stored recipe."""

    food: Name = Field(description="The food as the offers name it: its id, or the name of a food that was sent along.")
    batch_portions: BatchPortions | None = Field(
        None,
        description="How many portions of the first offer that has it a batch makes; left out: as many as there are in a batch of a "
        "stored recipe, so it is needed for any other dish.",
    )
    parts: Literal[1, 2, 4] | None = Field(
        None,
        description="1: whole batches only; 2: half batches can be made; 4: quarters. Left out: quarters of a stored recipe "
        "with `batch_fractions`, otherwise whole batches.",
    )
    fridge_days: Annotated[int, Field(ge=0, le=60), WHOLE] | None = Field(
        None,
        description="How many days after the day it was made it may still be eaten, kept in the fridge. The rules of keeping "
        "count beside it, and the earlier day holds; left out: those alone.",
    )
    freezer_days: Annotated[int, Field(ge=1, le=400), WHOLE] | None = Field(
        None,
        description="The same kept in the freezer; left out: as the rules say, if it freezes well or fairly.",
    )
    keeps: StorageClassId | None = Field(
        None,
        description="Id of the class of foods that it keeps like; left out: as a stored recipe says, otherwise as is known.",
    )
    freezes: Freezes | None = Field(
        None, description="How well it freezes; left out: as a stored recipe says, otherwise as is known."
    )
    thaw_hours: Annotated[float, Field(gt=0, le=96)] | None = Field(
        None,
        description="Hours it takes to thaw in the fridge; left out: as a stored recipe says, otherwise as is usual.",
    )
    minutes: Annotated[int, Field(ge=0, le=1_440), WHOLE] | None = Field(
        None, description="Minutes that making a batch takes; left out: not known."
    )


class Dish(DishWithIds):
    """A food of the offers that is made in batches on a prep day, and how long it keeps."""

    batch_portions: BatchPortions = Field(description="How many portions a batch makes.")

    @model_validator(mode="before")
    @classmethod
    def _batches_are_known(cls, given: Any) -> Any:
        if isinstance(given, dict) and given.get("batch_portions") is None:
            raise conflict(message("fault.no-batch-portions"), ("batch_portions",), given.get("food"))
        return given


class PlanLot(Asked):
    """Something in stock."""

    id: Name = Field(description="A name of its own within the plan.")
    food: Name = Field(description="The food as the offers name it.")
    grams: Annotated[float, Field(gt=0, le=100_000)] = Field(description="How much of it there is, in grams.")
    place: Place
    use_by: Day | None = Field(None, description="The last day on which it may be eaten; left out: it keeps.")
    days_before_freezing: Annotated[int, Field(ge=0, le=40_000), WHOLE] = Field(
        0,
        description="In the freezer: how many days it was kept before it was frozen. They count once it is thawed; the time in the "
        "freezer does not. Left out: it was frozen at once.",
    )


class SchoolMeal(Asked):
    """The school's meal of a day."""

    date: Day = Field(description="The day, YYYY-MM-DD.")
    menu: Menu = Field(description="The meal, as the school's menu gives it.")


class Buying(Asked):
    """On how many days of a week a child may buy the school's meal, and on which it would like to."""

    child: ChildPlace = Field(description="Its place among the children, counted from 0.")
    most_a_week: Annotated[int, Field(ge=0, le=7), WHOLE] = Field(
        description="On how many days of a week it buys the school's meal at most."
    )
    wishes: Annotated[list[Day], Field(max_length=MOST_SPAN)] = Field(
        default_factory=list,
        description="Days on which it would like to buy; on other days it buys where that is cheaper.",
    )
    not_on: Annotated[list[Day], Field(max_length=MOST_SPAN)] = Field(
        default_factory=list, description="Days on which it does not buy, cheaper or not."
    )


class StandsOn(Asked):
    """The offer that is set out on a day."""

    day: Day = Field(description="The day, YYYY-MM-DD.")
    offer: Name = Field(description="Id of the offer within the plan.")


class LunchOf(Asked):
    """The lunch of one child."""

    child: ChildPlace = Field(description="Its place among the children, counted from 0.")
    items: Annotated[list[ItemRef], Field(max_length=40)] = Field(description="Its items, by group and key.")


class DecidedDay(Asked):
    """What was decided for a day."""

    day: Day = Field(description="The day, YYYY-MM-DD.")
    offer: Name | None = Field(
        None, description="Id of the offer that is set out; left out: each child is given a lunch."
    )
    lunches: Annotated[list[LunchOf], Field(max_length=MOST_CHILDREN)] = Field(
        default_factory=list, description="The lunches of the children."
    )
    buyers: Annotated[list[ChildPlace], Field(max_length=MOST_CHILDREN)] = Field(
        default_factory=list, description="Places of the children who buy the school's meal."
    )


class BatchesOfADay(Asked):
    """The batches of a dish that are made on a prep day."""

    food: Name = Field(description="The dish.")
    made_on: Day = Field(description="The prep day, YYYY-MM-DD.")


class DecidedBatch(BatchesOfADay):
    """What was decided to be made on a prep day."""

    batches: Annotated[float, Field(gt=0, le=1_000, multiple_of=0.25)] = Field(description="How many batches.")


class PlanDecisions(Asked):
    """What a plan decided. Send it back as `before`, and the new plan changes as little as possible."""

    days: Annotated[list[DecidedDay], Field(max_length=MOST_SPAN)] = Field(
        default_factory=list, description="The school days."
    )
    batches: Annotated[list[DecidedBatch], Field(max_length=2_000)] = Field(
        default_factory=list, description="What is made."
    )


class LockedBatch(BatchesOfADay):
    """Batches that stay as they were decided."""


class PlanLocks(Asked):
    """Parts of the earlier plan that stay as they are."""

    days: Annotated[list[Day], Field(max_length=MOST_SPAN)] = Field(
        default_factory=list, description="Days that stay as they were decided."
    )
    batches: Annotated[list[LockedBatch], Field(max_length=2_000)] = Field(
        default_factory=list, description="Batches that stay as they were decided."
    )


class MoveFound(Asked):
    """Portions that a plan moves from the freezer to the fridge on an evening."""

    evening: Day = Field(description="The evening, YYYY-MM-DD.")
    food: Name = Field(description="The food.")
    portions: Annotated[int, Field(ge=1, le=100_000), WHOLE] = Field(description="How many portions.")
    for_day: Day = Field(description="The day on which they are eaten, YYYY-MM-DD.")


class SearchFound(Asked):
    """How far the search for lunches got."""

    objective: float = Field(description="What was found: the cost, and what is missed, in one sum.")
    bound: float = Field(description="No plan can be below it.")
    gap: Annotated[float, Field(ge=0)] = Field(description="How far the bound is below it, as a share of it.")
    proven: bool = Field(description="Whether nothing better is possible.")


class PlanFound(Asked):
    """What the last planning found beside its decisions."""

    of: Annotated[str, Field(max_length=64)] | None = Field(
        None,
        description="A digest of what was asked then: another one means that it was edited since; null: not known.",
    )
    before: PlanDecisions | None = Field(
        None, description="What had been decided before it was planned again; null: it was the first time."
    )
    moves: Annotated[list[MoveFound], Field(max_length=2_000)] = Field(
        default_factory=list, description="What is moved from the freezer to the fridge, evening by evening."
    )
    search: SearchFound | None = Field(
        None, description="How far the plan is from what no plan can be below; null: offers stand."
    )


class PlanWithIds(FamilyWithIds):
    """A plan of one to four weeks; offers, children and foods may be ids of stored records."""

    name: Name | None = Field(
        None, description="With a household's key: the plan is stored under this name; left out: nothing is stored."
    )
    way: PlanWay = "offers"
    days: Annotated[list[Day], Field(min_length=1, max_length=MOST_SPAN)] = Field(
        description="The school days, YYYY-MM-DD, without holidays; the rules in force on the first are used, and a packet counts where it holds on every one of them."
    )
    prep_days: Annotated[list[Day], Field(max_length=MOST_SPAN)] = Field(
        default_factory=list,
        description="Days on which dishes are made, for the mornings after them; YYYY-MM-DD.",
    )
    offers: Annotated[Sequence[PlanOffer], Field(min_length=1, max_length=MOST_OFFERS)] = Field(
        description="The offers that may be set out; where each child is given a lunch, the one offer from which the lunches "
        "are chosen."
    )
    stands: Annotated[list[StandsOn], Field(max_length=MOST_SPAN)] = Field(
        default_factory=list, description="Days whose offer is settled; for the others one is chosen."
    )
    no_repeat_days: Annotated[int, Field(ge=0, le=20), WHOLE] = Field(
        2,
        description="How many school days pass before the same offer (where each child is given a lunch: the same food for one child) comes again, if possible.",
    )
    may_repeat: Annotated[list[Name], Field(max_length=20)] = Field(
        default_factory=list,
        description="Where each child is given a lunch: ids of groups whose foods may come again at once, such as drinks.",
    )
    not_there: Annotated[list[NotThere], Field(max_length=MOST_CHILDREN)] = Field(
        default_factory=list, description="Children who are away on some of the days: ill, or on a trip."
    )
    amounts: PlanAmounts = "always"
    chance: Annotated[float, Field(ge=0.5, le=0.999)] = Field(
        0.95, description="How often the usual number of portions should be enough."
    )
    dishes: Annotated[Sequence[DishWithIds], Field(max_length=MOST_DISHES)] = Field(
        default_factory=list, description="The foods that are made in batches."
    )
    stock: Annotated[list[PlanLot], Field(max_length=MOST_LOTS)] = Field(
        default_factory=list,
        description="What is in stock; an empty list: nothing. Left out with a household's key: what its stock has of the foods of "
        "the offers and is still good today.",
    )
    school_meals: Annotated[list[SchoolMeal], Field(max_length=MOST_SPAN)] = Field(
        default_factory=list, description="The school's menu."
    )
    buying: Annotated[list[Buying], Field(max_length=MOST_CHILDREN)] = Field(
        default_factory=list, description="Who may buy the school's meal, and how often; left out: nobody does."
    )
    prices: list[PriceAsked] = PRICES
    school_meal: Annotated[list[MealPriceAsked], Field(max_length=100)] = Field(
        default_factory=list, description="What the school's meal costs."
    )
    seconds: Annotated[float, Field(ge=0.1, le=60)] = Field(10.0, description="How long to look, in seconds.")
    before: PlanDecisions | None = Field(
        None,
        description="What an earlier plan decided (`decisions` of its answer): the new plan changes as little as possible.",
    )
    locked: PlanLocks = Field(default_factory=PlanLocks, description="Parts of `before` that stay as they are.")

    @model_validator(mode="after")
    def _fits(self) -> "PlanWithIds":
        see_each_day_once("days", self.days)
        see_each_day_once("prep_days", self.prep_days)
        last = max(self.days)
        if last - min(self.days) >= timedelta(days=MOST_SPAN):
            raise conflict(message("fault.plan-too-long", most=MOST_SPAN), ("days", self.days.index(last)), last)
        see_known_children("not_there", self.not_there, len(self.children))
        see_known_days(self.not_there, self.days)
        see_known_children("buying", self.buying, len(self.children))
        see_known_children("school_meal", self.school_meal, len(self.children))
        if self.before is None and (self.locked.days or self.locked.batches):
            raise conflict(message("fault.locked-without-before"), ("locked",), self.locked.model_dump(mode="json"))
        return self

    def audit_with_ids(self, place: int) -> OfferAuditWithIds:
        """The audit of one of the offers for the same children, on the first day."""
        return OfferAuditWithIds(**self._of_audit(), offer=self.offers[place].offer)

    def _of_audit(self) -> dict[str, Any]:
        return {**counted_alone(self, FamilyWithIds), "on": min(self.days)}


class PlanRevision(Asked):
    """A stored plan to be made again, with as few changes as possible."""

    locked: PlanLocks = Field(
        default_factory=PlanLocks, description="Parts of the plan that stay as they are, beside those stored with it."
    )
    seconds: Annotated[float, Field(ge=0.1, le=60)] | None = Field(
        None, description="How long to look, in seconds; left out: as it was asked."
    )


class PlanRequest(PlanWithIds):
    """A plan of one to four weeks."""

    _taken_before: Sequence[Sequence[TakenLunch]] = PrivateAttr(())

    offers: Annotated[list[PlanOfferInFull], Field(min_length=1, max_length=MOST_OFFERS)] = Field(
        description="The offers that may be set out; where each child is given a lunch, the one offer from which the lunches "
        "are chosen."
    )
    children: Annotated[list[OfferChild], Field(min_length=1, max_length=MOST_CHILDREN)] = Field(
        description="The children."
    )
    dishes: Annotated[list[Dish], Field(max_length=MOST_DISHES)] = Field(
        default_factory=list, description="The foods that are made in batches."
    )

    def audit(self, place: int) -> OfferAuditRequest:
        """The audit of one of the offers for the same children, on the first day."""
        offer = self.offers[place].offer
        asked = {**self._of_audit(), "offer": offer, "children": [_for_offer(one, offer) for one in self.children]}
        return OfferAuditRequest(**asked).for_days(self.days)

    def knowing(self, taken_before: Sequence[Sequence[TakenLunch]]) -> "PlanRequest":
        """The same request, which knows what each child took before."""
        self._taken_before = taken_before
        return self

    @property
    def taken_before(self) -> Sequence[Sequence[TakenLunch]]:
        """For each child the lunches that it took from an offer; empty where nothing is to be learned from them."""
        return self._taken_before


def _for_offer(child: OfferChild, offer: OfferIn) -> OfferChild:
    """A child with what it says of this offer alone."""
    known = {(group.id, item_key(one.key, one.food)) for group in offer.groups for one in group.items}
    groups = {group.id for group in offer.groups}
    without = [one for one in child.without if (one.group, one.item) in known]
    return child.model_copy(update={"without": without, "takes": [one for one in child.takes if one.group in groups]})
