"""What a shopping list is asked from, as strict models."""

from collections.abc import Sequence
from datetime import date
from typing import Annotated

from pydantic import Field, model_validator

from service.domain.messages import message
from service.jobs.plan.kitchen.requests import MOST_EATERS, KitchenWithIds, PortionCount
from service.jobs.plan.requests import see_known_children
from service.jobs.requests.fields import WHOLE, Amount, Asked, Day, Name, ShortName, conflict
from service.jobs.requests.foods import AnyFood
from service.jobs.requests.screenings import ScreenedChild
from service.jobs.weeks.requests import MealPriceAsked, PriceAsked

MOST_NEEDS = 2_000
MOST_LOTS = 1_000


class Need(Asked):
    """A food that is wanted on a day, in the amount in which it is eaten."""

    id: ShortName | None = Field(None, description="Your own name for it; answers that speak of it carry it.")
    food: AnyFood = Field(
        description="A food: its id, see GET /v1/foods; or in full from its label, or as a recipe; a dish is bought as its "
        "ingredients."
    )
    quantity: Amount = Field(1.0, description="How many of `unit` a portion is.")
    unit: Name | None = Field(None, description="g, or a household unit of the food; left out: its usual portion.")
    portions: PortionCount = Field(1.0, description="Number of such portions, in quarters.")
    on: Day = Field(description="The day on which it is eaten, YYYY-MM-DD.")
    made_on: Day | None = Field(
        None, description="The day on which it is made, where that is before: its ingredients must be there by then."
    )
    child: Annotated[int, Field(ge=0, lt=MOST_EATERS), WHOLE] | None = Field(
        None, description="For whom: place among the children, counted from 0; left out: any of them may eat it."
    )

    @model_validator(mode="after")
    def _fits(self) -> "Need":
        if self.made_on is not None and self.made_on > self.on:
            raise conflict(message("fault.made-after-eaten"), ("made_on",), self.made_on)
        return self


class AtHand(Asked):
    """An amount of a food or dish that is at home already."""

    food: AnyFood = Field(description="A food as above; a dish that is at home already is not made again.")
    quantity: Amount = Field(1.0, description="How many of `unit`.")
    unit: Name | None = Field(None, description="g, or a household unit of the food; left out: its usual portion.")
    portions: Annotated[int, Field(ge=1, le=1_000), WHOLE] = Field(1, description="Number of such portions.")
    use_by: Day | None = Field(
        None, description="The last day on which it may be eaten; left out: it serves every day."
    )


class ShoppingListWithIds(KitchenWithIds):
    """Foods that are wanted on some days; children and foods may be ids of stored records."""

    needs: Annotated[list[Need], Field(min_length=1, max_length=MOST_NEEDS)] = Field(description="What is wanted.")
    at_hand: Annotated[list[AtHand], Field(max_length=MOST_LOTS)] = Field(
        default_factory=list, description="What is at home already; what ends first is used first."
    )
    shop_on: Day = Field(description="The first day on which you shop, YYYY-MM-DD.")
    also_on: Annotated[list[Day], Field(max_length=31)] = Field(
        default_factory=list, description="The other days on which you can shop; left out: any later day."
    )
    prices: Annotated[list[PriceAsked], Field(max_length=1_000)] = Field(
        default_factory=list,
        description="What packs of foods cost; a food may have packs of several sizes side by side. With a household's key its stored "
        "prices where none are sent.",
    )
    school_meal: Annotated[list[MealPriceAsked], Field(max_length=60)] = Field(
        default_factory=list, description="What the school's meal costs, to compare with."
    )

    @model_validator(mode="after")
    def _fits(self) -> "ShoppingListWithIds":
        see_known_children("needs", self.needs, len(self.children))
        see_known_children("school_meal", self.school_meal, len(self.children))
        for place, one in enumerate(self.needs):
            if (one.made_on or one.on) < self.shop_on:
                name = "on" if one.made_on is None else "made_on"
                raise conflict(message("fault.need-before-shopping"), ("needs", place, name), one.made_on or one.on)
        return self

    def days_asked(self) -> tuple[date, date]:
        """From the first day of shopping to the last on which something is eaten."""
        return self.shop_on, max(one.on for one in self.needs)


class ShoppingListRequest(ShoppingListWithIds):
    """Foods that are wanted on some days."""

    children: Annotated[Sequence[ScreenedChild], Field(max_length=MOST_EATERS)] = Field(
        default_factory=list, description="The children who eat it, with what each must avoid."
    )
