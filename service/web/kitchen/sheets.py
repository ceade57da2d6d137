"""A stored plan, as the pages of its sheets name it."""

from dataclasses import dataclass

UNITS = ("metric", "us")
"""In which amounts are said; the first where nothing is chosen."""


@dataclass(frozen=True)
class Sheets:
    """A plan whose sheets are linked to: its id and name, and its first and last day."""

    id: str
    name: str
    first: str
    last: str
