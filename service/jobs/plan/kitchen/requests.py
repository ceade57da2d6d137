"""What the requests for the kitchen share: for whom it is, what is known of foods, and on which days."""

from collections.abc import Sequence
from datetime import date
from typing import Annotated

from pydantic import Field

from service.jobs.requests.fields import Asked, KeptOr, Region, every_region
from service.jobs.requests.foods import PACKETS, SALTS_COOKING_WATER, Packet
from service.jobs.requests.people import Setting
from service.jobs.requests.screenings import ScreenedChild

MOST_EATERS = 40

PortionCount = Annotated[float, Field(gt=0, le=1_000, multiple_of=0.25)]
"""Portions, in quarters: a quarter of a batch of six makes one and a half."""


class KitchenWithIds(Asked):
    """Whom it is for and what is known of foods; children and foods may be ids of stored records."""

    children: Annotated[Sequence[KeptOr[ScreenedChild]], Field(max_length=MOST_EATERS)] = Field(
        default_factory=list,
        description="The children who eat it, with what each must avoid; with a household's key also ids of stored children.",
    )
    setting: Setting = Field(default_factory=Setting, description="What the classroom or school bans.")
    packets: list[Packet] = PACKETS
    salts_cooking_water: bool | None = SALTS_COOKING_WATER
    regions: Annotated[list[Region], Field(min_length=1, max_length=20)] = Field(
        default_factory=lambda: list(every_region()), description="Whose handling guidance to use; the stricter counts."
    )

    def days_asked(self) -> tuple[date, date]:
        """The first and the last day it speaks of."""
        raise NotImplementedError
