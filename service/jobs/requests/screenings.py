"""Children and items to be screened for allergens."""

from collections.abc import Sequence
from typing import Annotated

from pydantic import (
    Field,
    model_validator,
)

from service.jobs.requests.fields import MOST_ITEMS, Asked, Day, KeptOr, Name, Nickname, ShortName, one_of_two
from service.jobs.requests.foods import PACKETS, AnyFood, Packet
from service.jobs.requests.lunches import LunchItem
from service.jobs.requests.people import Avoids, Setting

ScreenedLunch = Annotated[list[LunchItem], Field(min_length=1, max_length=MOST_ITEMS)]


class ScreenedItemWithIds(Asked):
    """A thing to screen: a food, or a named lunch of several; each may be the id of a kept one."""

    id: ShortName | None = Field(None, description="Your own name for the thing; answers that speak of it carry it.")
    name: Name | None = Field(None, description="Its name, one line of plain text.")
    food: AnyFood | None = Field(
        None, description="A food: its id, see GET /v1/foods; or in full from its label, or as a recipe."
    )
    lunch: KeptOr[ScreenedLunch] | None = Field(None, description="The lunch.")

    @model_validator(mode="after")
    def _one_thing(self) -> "ScreenedItemWithIds":
        one_of_two(self.food, "food", self.lunch, "lunch")
        return self


class ScreenedItem(ScreenedItemWithIds):
    """A thing to screen: a food, or a named lunch of several."""

    lunch: ScreenedLunch | None = Field(None, description="The lunch.")


class ScreenedChild(Asked):
    """A child of a screening: a nickname and what to avoid."""

    nickname: Nickname = Field(description="To tell children apart; never logged.")
    avoids: Avoids = Field(default_factory=list)


class ScreeningWithIds(Asked):
    """Many children against many items or lunches; each may be the id of a kept one."""

    children: Annotated[Sequence[KeptOr[ScreenedChild]], Field(min_length=1, max_length=200)] = Field(
        description="The children."
    )
    items: Annotated[Sequence[ScreenedItemWithIds], Field(min_length=1, max_length=500)] = Field(
        description="The foods to screen."
    )
    setting: Setting = Field(default_factory=Setting, description="What the classroom or school bans.")
    on: Day | None = Field(
        None, description="The day it is eaten: which packets hold follows from it; left out: today."
    )
    packets: list[Packet] = PACKETS


class ScreeningRequest(ScreeningWithIds):
    """Many children against many items or lunches."""

    children: Annotated[list[ScreenedChild], Field(min_length=1, max_length=200)] = Field(description="The children.")
    items: Annotated[list[ScreenedItem], Field(min_length=1, max_length=500)] = Field(
        description="The foods to screen."
    )
