"""A sheet of labels by its measures, and where each label lies on it."""

from collections.abc import Iterator
from typing import NamedTuple

ROOM = 0.05
"""Millimetres by which sums of measures may differ."""


class LabelSheet(NamedTuple):
    """Measures in millimetres; the first label begins at ``left`` and ``top``, the next one ``step_across`` further."""

    id: str
    paper: str
    paper_width: float
    paper_height: float
    across: int
    down: int
    width: float
    height: float
    left: float
    top: float
    step_across: float
    step_down: float

    @property
    def labels(self) -> int:
        """How many labels it has."""
        return self.across * self.down

    def fits(self) -> bool:
        """Whether no label overlaps another or leaves the paper."""
        right = self.left + (self.across - 1) * self.step_across + self.width
        bottom = self.top + (self.down - 1) * self.step_down + self.height
        apart = self.width <= self.step_across + ROOM or self.across == 1
        below = self.height <= self.step_down + ROOM or self.down == 1
        return apart and below and right <= self.paper_width + ROOM and bottom <= self.paper_height + ROOM

    def places(self, labels: int, start: int) -> Iterator[tuple[int, float, float]]:
        """For so many labels from a position on (1 is the first, row by row): page from 0, left and top in millimetres."""
        for number in range(start - 1, start - 1 + labels):
            page, place = divmod(number, self.labels)
            row, column = divmod(place, self.across)
            yield page, self.left + column * self.step_across, self.top + row * self.step_down
