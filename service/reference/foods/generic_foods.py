"""Loads the generic food table: about ten thousand foods, read once and decoded only as asked for.

The files and their form are described in ``reference_data/foods/build/generic_files.py``; the table is
made by the script next to it. A part that does not match the header's checksum is refused.
"""

import datetime
import hashlib
import sys
import tomllib
from array import array
from bisect import bisect_left
from collections.abc import Callable
from fractions import Fraction
from functools import cache
from typing import Literal

from pydantic import BaseModel, ConfigDict, ValidationError

from service.domain.errors import ReferenceFault
from service.domain.foods.generic import GenericFood, HouseholdMeasure
from service.domain.measures import NUTRIENT_IDS, THOUSANDTHS
from service.reference.files import data_path

HEADER, TEXT, VALUES = "generic_foods.toml", "generic_foods_text.txt", "generic_foods_values.bin"
REMEDY = "Build the table again with reference_data/foods/build/build_generic_foods.py."


class SourceRow(BaseModel):
    """Where the foods with one id prefix come from."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)

    id_prefix: str
    edition: str
    title: str
    publisher: str
    licence: str
    package: str
    package_version: str
    archive_sha256: str
    read_on: datetime.date
    status: Literal["read", "second_hand", "memory", "estimated", "proposed"]
    note: str


class TableHeader(BaseModel):
    """What the rows of the table mean."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)

    format: Literal[1]
    foods: int
    basis: str
    scale: int
    missing: int
    text_sha256: str
    values_sha256: str
    measures: list[str]
    groups: list[str]
    source: list[SourceRow]


class GenericFoodTable:
    """All generic foods by id. Ids and names are plain tuples in one order, sorted by id."""

    def __init__(self, header: TableHeader, lines: list[bytes], values: "array[int]") -> None:
        self.header = header
        self._lines = lines
        self._values = values
        place = {measure: index for index, measure in enumerate(header.measures)}
        self._places = tuple(place.get(measure) for measure in NUTRIENT_IDS)
        """Where each nutrient of the engine is in a row; None: the files were built without it, so it is unknown."""
        self._ids: tuple[str, ...] | None = None
        self._names: tuple[str, ...] | None = None

    def __len__(self) -> int:
        return len(self._lines)

    def __contains__(self, food_id: object) -> bool:
        return isinstance(food_id, str) and self._row(food_id) is not None

    def ids(self) -> tuple[str, ...]:
        """All ids, sorted; decoded on the first call."""
        if self._ids is None:
            self._ids = tuple(line[: line.index(b"\t")].decode("ascii") for line in self._lines)
        return self._ids

    def names(self) -> tuple[str, ...]:
        """All names, in the order of ``ids``; decoded on the first call."""
        if self._names is None:
            self._names = tuple(line.split(b"\t", 2)[1].decode("utf-8") for line in self._lines)
        return self._names

    def editions(self) -> tuple[str, ...]:
        """The editions in the table."""
        return tuple(source.edition for source in self.header.source)

    def get(self, food_id: str) -> GenericFood | None:
        """The food with that id, or ``None``."""
        row = self._row(food_id)
        if row is None:
            return None
        _, name, group, *portions = self._lines[row].decode("utf-8").split("\t")
        width = len(self.header.measures)
        cells = self._values[row * width : (row + 1) * width]
        missing = self.header.missing
        return GenericFood(
            id=food_id,
            name=name,
            edition=self._edition(food_id),
            group=self.header.groups[int(group)],
            values=tuple(None if place is None or cells[place] == missing else cells[place] for place in self._places),
            household_measures=tuple(map(read_household_measure, portions)),
        )

    def _row(self, food_id: str) -> int | None:
        """The row of an id: the lines are sorted by it."""
        start = food_id.encode("utf-8", "replace") + b"\t"
        row = bisect_left(self._lines, start)
        return row if row < len(self._lines) and self._lines[row].startswith(start) else None

    def _edition(self, food_id: str) -> str:
        for source in self.header.source:
            if food_id.startswith(source.id_prefix):
                return source.edition
        raise fault(TEXT, food_id, "has an id prefix that the header does not name")


def fault(place: str, value: object, problem: str) -> ReferenceFault:
    """A fault of the table's files, with the remedy."""
    return ReferenceFault(pointer=f"reference_data/foods/{place}", value=value, problem=problem, remedy=REMEDY)


def read_household_measure(field: str) -> HouseholdMeasure:
    """One household measure out of its field ``amount|milligrams|words``."""
    amount, grams_mg, words = field.split("|", 2)
    return HouseholdMeasure(Fraction(amount), words, int(grams_mg))


def read_header(content: bytes) -> TableHeader:
    """The header, refused if it has other keys, another format, or measures that the domain does not know."""
    try:
        header = TableHeader.model_validate(tomllib.loads(content.decode("utf-8")))
    except (ValidationError, tomllib.TOMLDecodeError, UnicodeDecodeError) as wrong:
        raise fault(HEADER, str(wrong), "is not a header of a generic food table") from wrong
    if strange := sorted(set(header.measures) - set(NUTRIENT_IDS)):
        raise fault(f"{HEADER}#measures", strange, "are not nutrients of service/domain/measures.py")
    if len(set(header.measures)) != len(header.measures):
        raise fault(f"{HEADER}#measures", header.measures, "name a measure twice")
    if header.scale != THOUSANDTHS:
        raise fault(f"{HEADER}#scale", header.scale, f"is not {THOUSANDTHS}")
    return header


def read_table(read: Callable[[str], bytes]) -> GenericFoodTable:
    """The table out of its three files.

    ``read``: gives the bytes of a file by its name. Raises ``ReferenceFault`` for a part that is not the
    one the header speaks of.
    """
    header = read_header(read(HEADER))
    text, packed = read(TEXT), read(VALUES)
    for name, content, expected in ((TEXT, text, header.text_sha256), (VALUES, packed, header.values_sha256)):
        found = hashlib.sha256(content).hexdigest()
        if found != expected:
            raise fault(name, found, f"is its sha256, not {expected} as the header says")
    lines = text.splitlines()
    values = array("i")
    values.frombytes(packed)
    if sys.byteorder == "big":
        values.byteswap()
    if len(lines) != header.foods or len(values) != header.foods * len(header.measures):
        raise fault(HEADER, header.foods, f"foods are announced, but {len(lines)} lines and {len(values)} values found")
    return GenericFoodTable(header, lines, values)


@cache
def generic_foods() -> GenericFoodTable:
    """The shipped table, read on the first call and kept."""
    return read_table(lambda name: data_path(f"foods/{name}").read_bytes())
