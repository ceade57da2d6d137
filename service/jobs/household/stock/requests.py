"""The stock as strict models: an entry as it is sent and kept, and what happens to one."""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from service.domain.messages import message
from service.jobs.requests.fields import LINES, ONE_LINE, Asked, Day, KeptId, Name, conflict
from service.jobs.word_lists import Place, StockEventKind

MOST_PORTIONS = 10_000
QUARTER = 0.25

Portions = Annotated[float, Field(gt=0, le=MOST_PORTIONS, multiple_of=QUARTER)]
"""Portions, in quarters."""
PortionsOrNone = Annotated[float, Field(ge=0, le=MOST_PORTIONS, multiple_of=QUARTER)]
PlanLine = Annotated[str, Field(max_length=200, pattern=ONE_LINE)]
"""A line of a shopping list or a batch of a prep day; told apart within the plan, of no meaning outside of it."""
Note = Annotated[str, Field(max_length=500, pattern=LINES)]


class StockEntry(Asked):
    """What was made or bought of one food on one day, and is kept in one place."""

    food: Name = Field(description="Food id, see GET /v1/foods; or the id of an own food or recipe.")
    place: Place
    portions: Annotated[float, Field(gt=0, le=MOST_PORTIONS)] = Field(
        description="How many portions there are, in quarters; once it is stored, events change it."
    )
    portion_grams: Annotated[float, Field(ge=0.1, le=10_000)] | None = Field(
        None, description="Weight of a portion, in grams; left out: the usual portion of the food."
    )
    made_on: Day | None = Field(None, description="The day it was made; give this or bought_on.")
    bought_on: Day | None = Field(None, description="The day it was bought.")
    opened_on: Day | None = Field(None, description="The day the packet was opened; left out: it was not.")
    frozen_on: Day | None = Field(
        None, description="The day it was frozen; left out: never, or on the day it was made or bought."
    )
    thawed_on: Day | None = Field(
        None, description="The day it was taken out of the freezer; left out: it was not frozen, or still is."
    )
    printed_date: Day | None = Field(None, description="The use-by or best-before date printed on the packet.")
    note: Note = Field("", description="For the family.")

    @model_validator(mode="after")
    def _days_in_order(self) -> "StockEntry":
        if (self.made_on is None) == (self.bought_on is None):
            raise conflict(message("fault.made-or-bought"), ("made_on",), self.made_on)
        start = self.made_on or self.bought_on
        assert start is not None  # noqa: S101 - one of the two is given
        for name, day in (("opened_on", self.opened_on), ("frozen_on", self.frozen_on), ("thawed_on", self.thawed_on)):
            if day is not None and day < start:
                raise conflict(message("fault.before-it-was-made", made=start.isoformat()), (name,), day)
        if self.thawed_on is not None and self.place == "freezer":
            raise conflict(message("fault.thawed-in-freezer"), ("thawed_on",), self.thawed_on)
        if self.thawed_on is not None and self.frozen_on is not None and self.thawed_on < self.frozen_on:
            raise conflict(message("fault.thawed-before-frozen"), ("thawed_on",), self.thawed_on)
        return self


class KeptStockEntry(StockEntry):
    """A stock entry as it is kept; ``grams``: exactly how much there is."""

    portions: Annotated[float, Field(ge=0)] = Field(description="How many portions there are.")
    grams: Annotated[float, Field(ge=0)] = Field(
        description="How much there is, in grams: what is counted, to the milligram."
    )
    plan: KeptId | None = Field(
        None, description="Id of the stored plan that it was bought or made for; it stays when that plan is gone."
    )
    plan_line: PlanLine | None = Field(
        None, description="What of that plan it is; null: nothing, or it was taken back."
    )


class StockEventAsked(Asked):
    """Something that happened to an entry of the stock."""

    event: StockEventKind
    portions: PortionsOrNone | None = Field(
        None, description="How many portions, in quarters; left out: all of it. Needed for made and counted."
    )
    to: Place | None = Field(None, description="Where it was moved to; for moved only.")
    on: Day | None = Field(None, description="The day it happened, YYYY-MM-DD; left out: today.")
    note: Note = Field("", description="For the family.")

    @model_validator(mode="after")
    def _of_its_kind(self) -> "StockEventAsked":
        if (self.event == "moved") != (self.to is not None):
            raise conflict(message("fault.moved-where"), ("to",), self.to)
        if self.portions is None and self.event in ("made", "counted"):
            raise conflict(message("fault.how-many-portions", event=self.event), ("portions",), self.portions)
        if self.portions == 0 and self.event != "counted":
            raise conflict(message("fault.no-portions", event=self.event), ("portions",), self.portions)
        return self


class UsedIngredient(Asked):
    """What a dish that was made took of one food from the stock."""

    food: Name = Field(description="Id of the food.")
    taken_grams: Annotated[float, Field(ge=0)] = Field(description="How much was taken, in grams.")
    short_grams: Annotated[float, Field(ge=0)] = Field(
        description="How much more went into the dish than the stock had, in grams; 0: all was there."
    )

    def __add__(self, other: "UsedIngredient") -> "UsedIngredient":
        """Of both together, of one food."""
        taken, short = self.taken_grams + other.taken_grams, self.short_grams + other.short_grams
        return UsedIngredient(food=self.food, taken_grams=round(taken, 3), short_grams=round(short, 3))


class KeptStockEvent(Asked):
    """Something that happened to an entry of the stock, as it is kept."""

    stock: KeptId = Field(description="Id of the entry.")
    event: Literal[
        "made", "moved", "taken", "thrown", "counted", "moved_here", "lunch", "used", "given_back", "undone"
    ] = Field(
        description="What happened; lunch: a lunch took from it; used: a dish was made of it; given_back: that lunch was undone or "
        "changed, or that dish was not made; undone: it had been ticked on a plan's sheet by mistake."
    )
    on: Day = Field(description="The day it happened.")
    portions: float = Field(description="How many portions more there were; less than 0: fewer.")
    grams: float = Field(description="The same in grams, exact to the milligram.")
    to: Place | None = Field(
        None, description="Where it was moved to, or from where it came here; null: it was not moved."
    )
    other: KeptId | None = Field(
        None,
        description="Id of the entry it was moved to, came from, or was used for; null: none, or all was moved.",
    )
    lunch: KeptId | None = Field(None, description="Id of the lunch that took from it, or gave back; null: none.")
    note: Note = Field("", description="For the family.")
    ingredients: list[UsedIngredient] = Field(
        default_factory=list,
        description="For a dish that was made: what it took of the foods that the stock has, or had.",
    )
