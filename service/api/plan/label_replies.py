"""The published shapes of labels."""

from pydantic import Field

from service.api.replies import AsCodes, ReplyModel


class LabelSheetShown(ReplyModel):
    """A sheet of labels by its measures."""

    id: str = Field(description="Id of the sheet.")
    paper: str = Field(description="Its paper: a4 or letter.")
    across: int = Field(description="Labels beside each other.")
    down: int = Field(description="Labels below each other.")
    width_mm: float = Field(description="Width of a label, in millimetres.")
    height_mm: float = Field(description="Height of a label, in millimetres.")


class LabelRow(ReplyModel):
    """A row of text on a label."""

    text: str = Field(description="The text as printed; an ellipsis at its end: the rest of a name had no room.")
    points: float = Field(description="Size of its letters, in points.")
    bold: bool = Field(description="Whether it is printed bold.")


class LabelPrinted(ReplyModel):
    """Where a label is printed."""

    page: int = Field(description="Page, from 1.")
    position: int = Field(description="Position on the sheet, from 1, row by row.")


class LabelShown(ReplyModel):
    """A label as it is printed."""

    place: int = Field(description="Its place in the request, from 0.")
    id: str | None = Field(description="Your own id for it, as sent.")
    name: str = Field(description="What it is called, in full.")
    rows: list[LabelRow] = Field(description="Its text, from top to bottom.")
    code: str | None = Field(description="What its QR code says; null: it has none.")
    printed: list[LabelPrinted] = Field(description="Where it is printed.")


class LabelSheetReply(ReplyModel):
    """Labels as they are printed."""

    sheet: LabelSheetShown = Field(description="The sheet.")
    pages: int = Field(description="Number of pages.")
    labels: list[LabelShown] = Field(description="The labels, in the order of the request.")
    cautions: list[str] = Field(description="What goes with every answer.")
    caution_messages: AsCodes
