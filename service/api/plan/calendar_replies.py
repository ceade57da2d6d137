"""The published shapes of a calendar."""

from datetime import date
from typing import Literal

from pydantic import Field

from service.api.replies import AsCode, ReplyModel


class CalendarEventShown(ReplyModel):
    """One event."""

    uid: str = Field(description="Its id, a UUID: the same each time the same is asked for.")
    kind: Literal["prep", "move", "bought", "read"] = Field(description="What it is about.")
    on: date = Field(description="The day.")
    at: str | None = Field(description="The local time, HH:MM; null: the whole day.")
    minutes: int | None = Field(description="How long it takes; null: the whole day.")
    title: str = Field(description="Its title.")
    title_message: AsCode
    text: str = Field(description="What to do; empty: the title says it.")
    text_message: AsCode | None


class CalendarReply(ReplyModel):
    """The days of a plan as events."""

    calendar: str = Field(description="Name of the calendar, as sent.")
    title: str = Field(description="What it is called.")
    title_message: AsCode
    with_health: bool = Field(description="Whether allergens, and who must avoid them, are in it.")
    events: list[CalendarEventShown] = Field(description="The events, in order.")
