"""What a calendar is asked from, as strict models."""

from typing import Annotated

from pydantic import Field

from service.jobs.requests.fields import TIME_OF_DAY, WHOLE, Asked, Day, Name, Nickname

MOST_DAYS = 400
MOST_NAMES = 100
At = Annotated[str, Field(pattern=TIME_OF_DAY, examples=["18:00"])]
Names = Annotated[list[Name], Field(max_length=MOST_NAMES)]


class CalendarDay(Asked):
    """Something on a day."""

    on: Day = Field(description="The day, YYYY-MM-DD.")
    at: At | None = Field(None, description="The local time, HH:MM; left out: the whole day.")
    minutes: Annotated[int, Field(ge=5, le=720), WHOLE] = Field(
        30, description="How long it takes, where it has a time."
    )


class PrepDay(CalendarDay):
    """A day on which batches are made."""

    batches: Names = Field(default_factory=list, description="What is made, in your own words.")


class ToMove(Asked):
    """Portions to move from the freezer to the fridge."""

    name: Name = Field(description="Of what, in your own words.")
    portions: Annotated[int, Field(ge=1, le=1_000), WHOLE] = Field(description="Number of portions.")


class MoveTonight(CalendarDay):
    """An evening on which something is moved from the freezer to the fridge."""

    what: Annotated[list[ToMove], Field(min_length=1, max_length=MOST_NAMES)] = Field(description="What is moved.")


class BoughtDay(CalendarDay):
    """A day on which the school's meal is bought."""

    child: Nickname | None = Field(None, description="For whom; left out: for all.")


class ReadPackets(CalendarDay):
    """A day on which packets are read."""

    foods: Annotated[list[Name], Field(min_length=1, max_length=MOST_NAMES)] = Field(description="Of which foods.")
    children: Annotated[list[Nickname], Field(max_length=40)] = Field(
        default_factory=list, description="For whom; included only with `with_health`."
    )
    allergens: Names = Field(default_factory=list, description="What to look for; included only with `with_health`.")


class CalendarRequest(Asked):
    """The days of a plan, to be put into a calendar."""

    calendar: Name = Field(
        description="A name of its own, for example the plan's id: the same name and days give the same events, which replace "
        "the earlier ones."
    )
    title: Name | None = Field(None, description="What the calendar is called; left out: lunches.")
    prep_days: Annotated[list[PrepDay], Field(max_length=MOST_DAYS)] = Field(
        default_factory=list, description="Days on which batches are made."
    )
    move_tonight: Annotated[list[MoveTonight], Field(max_length=MOST_DAYS)] = Field(
        default_factory=list, description="Evenings on which something is moved to the fridge."
    )
    bought_days: Annotated[list[BoughtDay], Field(max_length=MOST_DAYS)] = Field(
        default_factory=list, description="Days on which the school's meal is bought."
    )
    read_packets: Annotated[list[ReadPackets], Field(max_length=MOST_DAYS)] = Field(
        default_factory=list, description="Days on which packets are read."
    )
    with_health: bool = Field(
        False, description="Whether allergens, and who must avoid them, are in it: calendars are often shared."
    )
