"""What the pages of the devices show."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.domain.messages import Message, message
from service.web.devices.calendar_view import FeedShown, feeds_shown
from service.web.devices.reach import Reach, ShownOnce
from service.web.forms.form import Form
from service.web.language.words import moment


@dataclass(frozen=True)
class DeviceShown:
    """A device. ``name``: may be empty; ``may``: what it may do; ``used``: when it was last used; ``here``: it is this one."""

    id: str
    name: str
    may: Message
    used: str
    here: bool


@dataclass(frozen=True)
class DevicesView:
    """The context of ``devices/devices.html``. ``form``: a new name that was refused; ``of``: the device that it is for.

    ``feeds``: the addresses at which other programs read the calendar.
    """

    devices: list[DeviceShown]
    feeds: list[FeedShown]
    form: Form
    of: str = ""

    @property
    def others(self) -> int:
        """How many devices there are besides this one."""
        return sum(not one.here for one in self.devices)


@dataclass(frozen=True)
class NewDeviceView:
    """The context of ``devices/new.html``. ``children``: id and nickname of each; ``reach``: how the device gets here."""

    form: Form
    children: list[tuple[str, str]]
    reach: Reach


@dataclass(frozen=True)
class LinkView(ShownOnce):
    """The context of ``devices/link.html``: a link that signs a device in."""

    may: Message
    ends: str


def devices_view(
    devices: Sequence[Mapping[str, Any]],
    children: Mapping[str, str],
    here: str,
    feeds: Sequence[Mapping[str, Any]],
    language: str,
    form: Form | None = None,
    of: str = "",
) -> DevicesView:
    """The page from the job's list; ``children``: nicknames by id; ``here``: id of the device that looks."""
    rows = [
        DeviceShown(
            id=one["id"],
            name=one["name"],
            may=may(one["rights"], children.get(one["child"] or "", "")),
            used=moment(one["last_used_at"], language),
            here=one["id"] == here,
        )
        for one in devices
    ]
    ordered = sorted(rows, key=lambda one: not one.here)
    return DevicesView(ordered, feeds_shown(feeds, language), form or Form(), of)


def may(rights: str, child: str = "") -> Message:
    """What a device may do, in words."""
    if rights == "take":
        return message("devices.may-take", name=child)
    return message("devices.may-keep") if rights == "keep" else message("devices.may-pack")
