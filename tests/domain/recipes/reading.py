"""Lists of ingredient lines with their right readings, and a reading in the same form."""

import csv
from fractions import Fraction
from pathlib import Path
from typing import Any

from service.domain.recipes.lines import LineReading, read_line
from service.domain.recipes.quantities import Measured
from service.reference.recipes.words import vocabulary


def lines_of(name: str) -> list[dict[str, str]]:
    """The rows of a list next to this file."""
    with (Path(__file__).parent / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def right_reading(row: dict[str, str]) -> dict[str, Any]:
    """What a row says is right."""
    right: dict[str, Any] = {name: value for name, value in row.items() if name not in ("text", "region")}
    for name in ("amount", "to"):
        right[name] = Fraction(right[name]) if right[name] else None
    return right | {"doubts": set(filter(None, row["doubts"].split(";")))}


def reading_of(row: dict[str, str]) -> dict[str, Any]:
    """What the reader makes of the row's line, in the row's form."""
    found = read_line(row["text"], vocabulary(), row["region"] or None)
    return {
        "amount": found.amount,
        "to": found.amount_to,
        "unit": found.unit.id if found.unit else "",
        "pack": _said(found.pack),
        "beside": _said(found.beside),
        "plus": _said(found.plus),
        "size": found.size,
        "food": found.food,
        "preparation": found.preparation,
        "note": found.note,
        "doubts": doubts_of(found),
    }


def doubts_of(found: LineReading) -> set[str]:
    """The codes of its doubts."""
    return {one.code.removeprefix("doubt.") for one in found.doubts}


def _said(measured: Measured | None) -> str:
    return "" if measured is None else f"{float(measured.amount):g} {measured.unit.id}"
