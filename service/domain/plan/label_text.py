"""The text of a label in its room: it is made smaller in steps, then what may be shortened is; the rest stands in full or not at all.

Nothing is ever drawn outside the room. Source: ours.
"""

from collections.abc import Callable, Sequence
from typing import NamedTuple

ELLIPSIS = "…"
LEADING = 1.18
"""Height of a line for its size; our choice."""
STEPS = (1.0, 0.9, 0.8, 0.7, 0.62, 0.55, 0.5)
"""What the sizes are multiplied by, one after another, until it fits; our choice."""
SMALLEST = 5.0
"""Points below which no text is printed: smaller cannot be read; our choice."""


class Line(NamedTuple):
    """One line of a label: its size in points at best; ``whole``: it must stand in full; the others may be shortened."""

    text: str
    points: float
    bold: bool = False
    whole: bool = True


class Placed(NamedTuple):
    """A row of text that is drawn, at so many points below the top of the room."""

    text: str
    points: float
    bold: bool
    below: float


Width = Callable[[str, bool, float], float]
"""How wide a text is in points, by text, bold, size."""


class NoRoom(Exception):
    """What must stand in full does not fit."""


def placed(lines: Sequence[Line], width: float, height: float, width_of: Width) -> list[Placed]:
    """The rows of a label in a room of ``width`` and ``height`` points; raises ``NoRoom``.

    First everything is made smaller, step by step. At the smallest step a line that may be shortened gets what room is
    left by those that must stand in full, one row at least.

    >>> by_letter = lambda text, bold, points: len(text) * points / 2
    >>> [row.text for row in placed([Line("a very long name of a dish", 10, whole=False), Line("Contains: milk", 10)], 40, 12, by_letter)]
    ['a very long nam…', 'Contains: milk']
    """
    for step in STEPS:
        rows = _all(lines, width, step, width_of)
        if rows is not None and _height(rows) <= height:
            return _stacked(rows)
    smallest = STEPS[-1]
    needed = [[] if not one.whole else _wrapped(one, width, smallest, width_of) for one in lines]
    left = height - sum(_height(rows) for rows in needed)
    open_lines = [place for place, one in enumerate(lines) if not one.whole]
    for number, place in enumerate(open_lines):
        size = _size(lines[place], smallest)
        others = sum(_size(lines[one], smallest) * LEADING for one in open_lines[number + 1 :])
        most = int((left - others + 1e-9) // (size * LEADING))
        if most < 1:
            raise NoRoom
        needed[place] = _shortened(lines[place], most, width, smallest, width_of)
        left -= _height(needed[place])
    if left < -1e-6:
        raise NoRoom
    return _stacked([row for rows in needed for row in rows])


def _size(line: Line, step: float) -> float:
    return max(SMALLEST, line.points * step)


def _all(lines: Sequence[Line], width: float, step: float, width_of: Width) -> list[Placed] | None:
    return [row for one in lines for row in _wrapped(one, width, step, width_of)]


def _wrapped(line: Line, width: float, step: float, width_of: Width) -> list[Placed]:
    """A line in rows that are no wider than the room; a word that is wider by itself is broken."""
    size = _size(line, step)

    def fits(text: str) -> bool:
        return width_of(text, line.bold, size) <= width

    rows: list[str] = []
    row = ""
    for word in line.text.split():
        joined = f"{row} {word}".strip()
        if fits(joined):
            row = joined
            continue
        if row:
            rows.append(row)
        row = word
        while not fits(row):
            cut = next((n for n in range(len(row) - 1, 0, -1) if fits(row[:n])), 0)
            if not cut:
                raise NoRoom
            rows.append(row[:cut])
            row = row[cut:]
    if row:
        rows.append(row)
    return [Placed(one, size, line.bold, 0.0) for one in rows]


def _shortened(line: Line, most: int, width: float, step: float, width_of: Width) -> list[Placed]:
    """The first rows of a line; the last ends with an ellipsis where something is left out."""
    rows = _wrapped(line, width, step, width_of)
    if len(rows) <= most:
        return rows
    last = rows[most - 1]
    text = last.text
    while text and width_of(text + ELLIPSIS, last.bold, last.points) > width:
        text = text[:-1]
    return [*rows[: most - 1], last._replace(text=text.rstrip() + ELLIPSIS)]


def _height(rows: Sequence[Placed]) -> float:
    return sum(row.points * LEADING for row in rows)


def _stacked(rows: Sequence[Placed]) -> list[Placed]:
    below = 0.0
    found = []
    for row in rows:
        below += row.points * LEADING
        found.append(row._replace(below=below))
    return found
