"""Backups with values changed and signed again, as somebody might who has read how they are made."""

import hashlib
import json
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

VALUES: list[Any] = [
    None, True, False, 0, -1, 1, 2**31, 2**63, 10**30, 0.5, -0.0, 1e308, "", " ", "x", "x" * 200, "x" * 20_001, "\u202e", "a\nb", "\x00", "\x1b[31m",
    "<script>", "0001-01-01", "9999-12-31", "2026-02-30", "2026-11-25", "2026-13", "9999-12", "0100-01-01", "9899-12-31", "2026-11-25T07:00:00", "0001-01-01T00:00:00+23:59",
    "9999-12-31T23:59:59-12:00", "00000000-0000-0000-0000-000000000000", "apple", "no-such-food", "peanut", "no-such-allergen",
    "us-school-lunch", "no-such-standard", "en-school-food-2014", "packed", "bought", "keep", "own", "g", "cup", "freezer", [], {}, [None], ["x"], [[]], {"": None}, {"x": 1},
    [1e308, -1e308], "/etc/passwd", "=1+1", "\ud7ff", "𝟙",
]  # fmt: skip
"""What a value may be changed to; together with what stands elsewhere in the file."""
Place = tuple[Any, ...]


def rows_of(backup: Path) -> tuple[dict[str, Any], list[Any]]:
    """The head of a backup, and its rows."""
    lines = backup.read_bytes().splitlines()
    return json.loads(lines[0]), [json.loads(line) for line in lines[1:-1]]


def write_signed(file: Path, head: Any, rows: list[Any]) -> None:
    """Write a backup with a right last line."""
    body = b"".join(
        json.dumps(one, ensure_ascii=False, separators=(",", ":")).encode() + b"\n" for one in (head, *rows)
    )
    end = {"end": True, "rows": len(rows), "sha256": hashlib.sha256(body).hexdigest()}
    file.write_bytes(body + json.dumps(end, separators=(",", ":")).encode() + b"\n")


def places_in(value: Any, place: Place = ()) -> Iterator[Place]:
    """Every place in a value that holds one, itself too."""
    yield place
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for name, one in inner:
        yield from places_in(one, (*place, name))


def changed(row: Any, place: Place, value: Any) -> Any:
    """A row with another value at a place."""
    if not place:
        return value
    made = json.loads(json.dumps(row))
    at = made
    for name in place[:-1]:
        at = at[name]
    at[place[-1]] = value
    return made


def some_change(rows: list[Any], chance: random.Random) -> tuple[int, Any, Place]:
    """The number of a row, and that row with one value changed, left out, doubled, or taken from elsewhere in the file."""
    number = chance.randrange(len(rows))
    row = rows[number]
    place = chance.choice([one for one in places_in(row[1]) if one])
    elsewhere = chance.choice(rows)[1]
    other: Any = elsewhere
    for name in chance.choice(list(places_in(elsewhere))):
        other = other[name]
    value = chance.choice([chance.choice(VALUES), chance.choice(VALUES), other])
    return number, [row[0], changed(row[1], place, value)], place
