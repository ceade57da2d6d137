"""What a sheet of labels is asked from, as strict models."""

from collections.abc import Sequence
from datetime import date
from typing import Annotated

from pydantic import Field, model_validator
from typing_extensions import TypeAliasType

from service.domain.messages import message
from service.jobs.plan.kitchen.requests import MOST_EATERS, KitchenWithIds
from service.jobs.requests.fields import (
    WEB_ADDRESS,
    WHOLE,
    Amount,
    Asked,
    Day,
    KeptId,
    Listed,
    Name,
    ShortName,
    conflict,
)
from service.jobs.requests.foods import AnyFood
from service.jobs.requests.screenings import ScreenedChild
from service.reference.plan.label_sheets import label_sheets

MOST_LABELS = 500
SheetId = TypeAliasType(
    "SheetId",
    Annotated[
        str,
        Field(
            description="A sheet of labels by its measures: paper, then labels across and down. Open: more may be added."
        ),
        Listed(lambda: tuple(label_sheets())),
    ],
)


class LabelAsked(Asked):
    """One label, or several alike."""

    id: ShortName | None = Field(None, description="Your own name for it; a fault that speaks of it names it.")
    food: AnyFood = Field(
        description="What is in it: a food id, see GET /v1/foods; or in full from its label, or a recipe."
    )
    name: Name | None = Field(None, description="What the label calls it; left out: the name of the food.")
    quantity: Amount = Field(1.0, description="How many of `unit` a portion is.")
    unit: Name | None = Field(None, description="g, or a household unit of the food; left out: its usual portion.")
    made: Day = Field(description="The day it was made, YYYY-MM-DD.")
    use_by: Day | None = Field(None, description="The last day on which it may be eaten; left out: not printed.")
    thaw_hours: Annotated[int, Field(ge=1, le=96), WHOLE] | None = Field(
        None, description="Hours that it takes to thaw in the fridge; left out: not printed."
    )
    reheat: bool = Field(False, description="Whether it is to be heated: how hot is printed.")
    stock_id: KeptId | None = Field(None, description="Id of what it stands for in the stock: printed as a QR code.")
    copies: Annotated[int, Field(ge=1, le=MOST_LABELS), WHOLE] = Field(1, description="How many such labels.")

    @model_validator(mode="after")
    def _fits(self) -> "LabelAsked":
        if self.use_by is not None and self.use_by < self.made:
            raise conflict(message("fault.use-by-before-made"), ("use_by",), self.use_by)
        return self


class LabelSheetWithIds(KitchenWithIds):
    """Labels to print; children and foods may be ids of stored records."""

    sheet: SheetId
    start: Annotated[int, Field(ge=1, le=1_000), WHOLE] = Field(
        1, description="The first position that is still free on the sheet, counted from 1, row by row."
    )
    address: Annotated[str, Field(max_length=200, pattern=WEB_ADDRESS)] | None = Field(
        None,
        description="Address of this service, with which the address in the QR code begins; left out: the path alone.",
    )
    labels: Annotated[list[LabelAsked], Field(min_length=1, max_length=MOST_LABELS)] = Field(description="The labels.")

    @model_validator(mode="after")
    def _fits(self) -> "LabelSheetWithIds":
        copies = sum(one.copies for one in self.labels)
        if copies > MOST_LABELS:
            raise conflict(message("fault.too-many-labels", number=copies, most=MOST_LABELS), ("labels",), copies)
        return self

    def days_asked(self) -> tuple[date, date]:
        """From the first day on which something was made to the last on which something may be eaten."""
        return min(one.made for one in self.labels), max(one.use_by or one.made for one in self.labels)


class LabelSheetRequest(LabelSheetWithIds):
    """Labels to print."""

    children: Annotated[Sequence[ScreenedChild], Field(max_length=MOST_EATERS)] = Field(
        default_factory=list, description="The children, with what each must avoid: whom it is not for is printed."
    )
