"""Reads the index of branded foods: by the code of a packet, or by words.

A file is opened for each look-up, so that a new build is seen at once and threads do not wait for each other.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import date
from pathlib import Path
from struct import iter_unpack
from typing import Any
from urllib.parse import quote

from service.domain.errors import StoreFault
from service.domain.foods.branded import NO_BASIS, BrandedFood, BrandedValue, judged
from service.domain.messages import Message, message
from service.lookup.branded.codes import code_notes, packet_code, written_out
from service.lookup.branded.nutrients import amounts_by_measure, limits, unit_of
from service.lookup.branded.schema import AMOUNT, VERSION
from service.lookup.branded.words import found_ids, read_vocabulary


class BrandedIndex:
    """An index that was built. ``release``: the newest day on which an entry of its archive was published."""

    def __init__(self, path: Path) -> None:
        """Raises ``StoreFault`` where there is no index, or one that this version cannot read."""
        self.path = path
        with self._opened() as index:
            about = dict(index.execute("SELECT name, value FROM about").fetchall())
        if about.get("version") != str(VERSION):
            raise StoreFault(pointer="", value=str(path), problem=message("fault.branded-index-other-version"))
        self.release = date.fromisoformat(about["release"])

    def by_code(self, code: str) -> BrandedFood | None:
        """The food of a code, or None where the index has none; raises ``BadInput`` for what cannot be a code."""
        number = packet_code(code).number
        with self._opened() as index:
            row = index.execute(_OF_CODE, (number,)).fetchone()
            if row is None and (whole := written_out(code)) is not None:
                row = index.execute(_OF_CODE, (whole,)).fetchone()
        return None if row is None else self._food(row)

    def by_words(self, text: str, limit: int = 20) -> list[BrandedFood]:
        """Foods whose description and brand have all the words; none for a text without words.

        Those that have them all in a short description come first. The last word may be the beginning of one, from three
        letters on. Where no food has all of them, words that are spelt alike are tried.
        """
        with self._opened() as index:
            ids = found_ids(index, text, limit, lambda: read_vocabulary(self.path, self.path.stat().st_mtime_ns))
            rows = [index.execute("SELECT * FROM foods WHERE id = ?", (one,)).fetchone() for one in ids]
        return [self._food(row) for row in rows]

    @contextmanager
    def _opened(self) -> Iterator[sqlite3.Connection]:
        if not self.path.is_file():
            raise StoreFault(pointer="", value=str(self.path), problem=message("fault.branded-index-missing"))
        try:
            with closing(sqlite3.connect(f"file:{quote(str(self.path))}?mode=ro&immutable=1", uri=True)) as index:
                index.row_factory = sqlite3.Row
                yield index
        except sqlite3.DatabaseError as fault:
            raise StoreFault(
                pointer="", value=str(self.path), problem=message("fault.branded-index-damaged")
            ) from fault

    def _food(self, row: sqlite3.Row) -> BrandedFood:
        plain: dict[str, Any] = dict(row)
        notes = code_notes(plain["gtin"])
        values: tuple[BrandedValue, ...] = ()
        if plain["values_fdc_id"] is not None:
            values, unread = _values(plain)
            notes += unread
        food = BrandedFood(
            gtin=f"{plain['gtin']:014}",
            **{name: plain[name] for name in _AS_THEY_ARE},
            modified=_day(plain["modified"]),
            available=_day(plain["available"]),
            published=_day(plain["published"]),
            discontinued=_day(plain["discontinued"]),
            values=values,
            source="index",
            read=self.release,
            notes=notes,
        )
        return judged(food, limits())


_OF_CODE = "SELECT * FROM foods WHERE gtin = ?"
_AS_THEY_ARE = (
    "fdc_id",
    "description",
    "brand_owner",
    "brand_name",
    "category",
    "serving_amount",
    "serving_unit",
    "household_serving",
    "ingredients",
    "market",
    "values_fdc_id",
)


def _day(text: str | None) -> date | None:
    return None if text is None else date.fromisoformat(text)


def _values(row: dict[str, Any]) -> tuple[tuple[BrandedValue, ...], tuple[Message, ...]]:
    """All values of a row; where its entry does not say what they are for, they are unknown."""
    amounts = dict(iter_unpack(AMOUNT, row["amounts"]))
    notes: tuple[Message, ...] = ()
    if row["values_basis"] is None:
        amounts, notes = {}, (NO_BASIS,)
    fdc_id, on = row["values_fdc_id"], _day(row["values_date"])
    values = tuple(
        BrandedValue(
            measure, amount, unit_of(measure), "100 ml" if row["values_basis"] == "ml" else "100 g", fdc_id, on
        )
        for measure, amount in amounts_by_measure(amounts).items()
    )
    return values, notes
