"""What the pages of the calendar's addresses show."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.web.devices.reach import Reach, ShownOnce
from service.web.forms.form import Form
from service.web.language.words import moment


@dataclass(frozen=True)
class FeedShown:
    """An address without its secret. ``used``: when it was last read, empty for never; ``health``: what it says of health too."""

    id: str
    name: str
    made: str
    used: str
    health: bool


@dataclass(frozen=True)
class NewFeedView:
    """The context of ``devices/new_calendar.html``. ``languages``: name and words of each; ``reach``: how others get here."""

    form: Form
    languages: list[tuple[str, str]]
    reach: Reach


@dataclass(frozen=True)
class MadeFeedView(ShownOnce):
    """The context of ``devices/calendar.html``: the address of a calendar."""

    health: bool


def feeds_shown(feeds: Sequence[Mapping[str, Any]], language: str) -> list[FeedShown]:
    """The addresses of a household from the job's list."""
    return [
        FeedShown(
            one["id"],
            one["name"],
            moment(one["made_at"], language),
            "" if one["last_used_at"] is None else moment(one["last_used_at"], language),
            one["with_health"],
        )
        for one in feeds
    ]
