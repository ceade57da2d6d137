"""A bar against what is wanted, as it is drawn: the band that is wanted, where the bar ends, and the word that says it too.

Floors and ceilings have axes of their own: the band runs from the floor on, up to the ceiling, or from one to the other. A
bar whose rule is not kept ends outside the band by a gap that can be seen, however little is missing; one whose rule is
kept ends inside it. So the drawing never says something else than the word.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

WIDTH = 320.0
GAP = 8.0
"""How far outside the band a bar that is off ends at least."""
INSIDE = 6.0
"""How far inside the band a bar that is right ends at least, so that its dot lies in it."""
ROW = 14
BEYOND_CEILING, BEYOND_FLOOR = 1.35, 1.7
"""How much of the axis lies past the ceiling, or past the floor where there is no ceiling, as a part of it."""
MOST_TIMES = 4.0
"""What is more than so many times what is wanted is drawn as that."""


class Came(NamedTuple):
    """What lunches came to: ``name``: of the day, or empty; ``low``, ``high``: where it may lie (``high`` None: no end)."""

    name: str
    status: str
    low: float
    high: float | None


@dataclass(frozen=True)
class Stroke:
    """One bar. ``end``: where it ends; ``until``: how far it may reach where it is not known, else the same."""

    name: str
    status: str
    end: float
    until: float
    top: int


@dataclass(frozen=True)
class Bar:
    """A band with its bars, in units of the drawing. ``word``: code of what the whole is called."""

    band_from: float
    band_to: float
    has_floor: bool
    has_ceiling: bool
    strokes: list[Stroke]
    height: int
    width: int = int(WIDTH)

    def inside(self, stroke: Stroke) -> bool:
        """Whether a bar ends within the band."""
        return self.band_from <= stroke.end <= self.band_to


def bar_of(came: Sequence[Came], floor: float | None, ceiling: float | None) -> Bar | None:
    """The drawing; None where nothing can be drawn: neither bound, one that is not above nothing, or nothing that came."""
    bounds = [one for one in (floor, ceiling) if one is not None]
    judged = [one for one in came if one.status in ("met", "short", "over", "unknown") and one.low >= 0]
    if not judged or not bounds or min(bounds) <= 0:
        return None
    ends = [one.low if one.high is None else max(one.low, one.high) for one in judged]
    wanted = max(bounds)
    past = BEYOND_FLOOR if ceiling is None else BEYOND_CEILING
    longest = max(wanted * past, min(max(ends) * 1.1, wanted * MOST_TIMES))
    band_from = 0.0 if floor is None else max(2 * GAP, floor / longest * WIDTH)
    band_to = WIDTH if ceiling is None else min(WIDTH - 2 * GAP, max(ceiling / longest * WIDTH, band_from + 2 * INSIDE))
    band_from = min(band_from, band_to - 2 * INSIDE)
    strokes = [
        _stroke(one, min(WIDTH, one.low / longest * WIDTH), longest, band_from, band_to, place)
        for place, one in enumerate(judged)
    ]
    return Bar(band_from, band_to, floor is not None, ceiling is not None, strokes, ROW * len(strokes) + 10)


def _stroke(one: Came, end: float, longest: float, band_from: float, band_to: float, place: int) -> Stroke:
    if one.status == "met":
        end = min(max(end, band_from + INSIDE), band_to - INSIDE)
    elif one.status == "short":
        end = min(end, band_from - GAP)
    elif one.status == "over":
        end = max(end, band_to + GAP)
    until = end
    if one.status == "unknown":
        until = WIDTH if one.high is None else max(end, min(WIDTH, one.high / longest * WIDTH))
    return Stroke(one.name, one.status, round(end, 1), round(until, 1), 5 + ROW * place)
