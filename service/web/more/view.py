"""What the page that leads to all others shows."""

from typing import NamedTuple


class Place(NamedTuple):
    """A page: its address, and the codes of its name and of what it is for."""

    address: str
    name: str
    purpose: str


class MoreView(NamedTuple):
    """The context of ``more/more.html``."""

    places: list[Place]
