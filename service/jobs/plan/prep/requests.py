"""What a prep sheet is asked from, as strict models."""

from collections.abc import Sequence
from datetime import date
from typing import Annotated, Literal

from pydantic import Field, model_validator

from service.domain.messages import message
from service.jobs.plan.kitchen.requests import MOST_EATERS, KitchenWithIds, PortionCount
from service.jobs.requests.fields import WHOLE, Amount, Asked, Day, Name, ShortName, conflict
from service.jobs.requests.foods import AnyFood
from service.jobs.requests.screenings import ScreenedChild

MOST_BATCHES = 60
Place = Literal["freezer", "fridge", "cupboard"]


class Goes(Asked):
    """Where some portions of a batch go."""

    place: Place = Field(description="freezer, fridge or cupboard.")
    portions: PortionCount = Field(description="Number of portions, in quarters.")
    container: ShortName | None = Field(None, description="What they are put in, in your own words.")


class Batch(Asked):
    """Portions of a dish or food to make."""

    id: ShortName | None = Field(None, description="Your own name for it; answers that speak of it carry it.")
    food: AnyFood = Field(description="A food: its id, see GET /v1/foods; or in full from its label, or as a recipe.")
    quantity: Amount = Field(1.0, description="How many of `unit` a portion is.")
    unit: Name | None = Field(None, description="g, or a household unit of the food; left out: its usual portion.")
    portions: PortionCount = Field(description="Number of portions to make, in quarters.")
    goes: Annotated[list[Goes], Field(max_length=10)] = Field(default_factory=list, description="Where they go.")
    cooked: bool | None = Field(
        None,
        description="Whether it is cooked, and so has to be cooled; left out: judged by what it is and what is in it.",
    )
    eaters: Annotated[list[Annotated[int, Field(ge=0, lt=MOST_EATERS), WHOLE]], Field(max_length=MOST_EATERS)] = Field(
        default_factory=list,
        description="Who eats it: places among the children, counted from 0; left out: all who may have it.",
    )

    @model_validator(mode="after")
    def _fits(self) -> "Batch":
        gone = sum(one.portions for one in self.goes)
        if gone > self.portions:
            raise conflict(message("fault.more-put-away", put_away=gone, made=self.portions), ("goes",), gone)
        return self


class PrepSheetWithIds(KitchenWithIds):
    """Batches to make on a day; children and foods may be ids of stored records."""

    on: Day = Field(description="The day on which they are made, YYYY-MM-DD.")
    batches: Annotated[list[Batch], Field(min_length=1, max_length=MOST_BATCHES)] = Field(description="What to make.")

    @model_validator(mode="after")
    def _fits(self) -> "PrepSheetWithIds":
        number = len(self.children)
        for place, one in enumerate(self.batches):
            for nth, eater in enumerate(one.eaters):
                if eater >= number:
                    at = ("batches", place, "eaters", nth)
                    raise conflict(message("fault.no-such-child", number=number), at, eater)
        return self

    def days_asked(self) -> tuple[date, date]:
        """The day."""
        return self.on, self.on


class PrepSheetRequest(PrepSheetWithIds):
    """Batches to make on a day."""

    children: Annotated[Sequence[ScreenedChild], Field(max_length=MOST_EATERS)] = Field(
        default_factory=list, description="The children who eat it, with what each must avoid."
    )
