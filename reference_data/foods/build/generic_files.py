"""The shipped form of the generic food table: a header, a text part and a values part, and the allow-list.

- ``generic_foods.toml``: what the rows mean, where they come from, checksums of the two parts.
- ``generic_foods_text.txt``: one line a food, fields separated by tabs: id, name, number of its group in the
  header, then one field a household measure, ``amount|milligrams|words``. UTF-8, sorted by id.
- ``generic_foods_values.bin``: one row a food in the same order, one little-endian 32-bit whole number a
  measure in the header's order: thousandths per 100 g, -1 for missing.
- ``generic_allow_list.txt``: id and name, for reading by people; the service does not read it.

The same foods always give the same bytes.
"""

import hashlib
import os
import struct
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

from generic_archives import FNDDS_ARCHIVE, SR28_ARCHIVE, PinnedArchive
from generic_records import FNDDS, MEASURES, SR28, BuildError, SourceFood

FORMAT = 1
MISSING = -1
LARGEST = 2**31 - 1
READ_ON = "2026-11-25"
HEADER, TEXT, VALUES = "generic_foods.toml", "generic_foods_text.txt", "generic_foods_values.bin"
ALLOW_LIST, REPORT = "generic_allow_list.txt", "generic_foods_report.md"

SOURCES: tuple[tuple[str, str, str, str, PinnedArchive], ...] = (
    (
        "fndds-",
        FNDDS,
        "USDA Food and Nutrient Database for Dietary Studies 2021-2023, survey foods, per 100 g",
        "rows of kind survey_fndds_food of the package's table; the ids are ours, made from the official descriptions",
        FNDDS_ARCHIVE,
    ),
    (
        "sr28-",
        SR28,
        "USDA National Nutrient Database for Standard Reference, release 28, per 100 g of edible portion",
        "the agency's text files FOOD_DES, FD_GROUP, NUTR_DEF, NUT_DATA, WEIGHT; the ids hold the NDB numbers",
        SR28_ARCHIVE,
    ),
)


def quoted(text: str) -> str:
    """A TOML basic string; refuses what would need more than the two escapes."""
    if any(ord(sign) < 32 for sign in text):
        raise BuildError(f"{text!r} has a control character.")
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def text_line(food: SourceFood, group_number: int) -> str:
    """One line of the text part."""
    fields = [food.id, food.name, str(group_number)]
    fields += [f"{portion.amount}|{portion.grams_mg}|{portion.words}" for portion in food.portions]
    if any("\t" in field or "\n" in field for field in fields) or any("|" in part.words for part in food.portions):
        raise BuildError(f"{food.id}: a name or measure has a tab, a new line or a bar.")
    return "\t".join(fields) + "\n"


def values_row(food: SourceFood) -> bytes:
    """One row of the values part."""
    row = [food.values.get(measure, MISSING) for measure in MEASURES]
    if any(value != MISSING and not 0 <= value <= LARGEST for value in row):
        raise BuildError(f"{food.id}: a value is negative or too large for the file: {row}.")
    return struct.pack(f"<{len(row)}i", *row)


def header_text(foods: Sequence[SourceFood], groups: Sequence[str], text: bytes, values: bytes) -> str:
    """The header: meaning of rows and columns, sources, checksums."""
    lines = [
        "# Generic foods: values per 100 g. Written by build/build_generic_foods.py; do not edit by hand.",
        f"format = {FORMAT}",
        f"foods = {len(foods)}",
        'basis = "100 g, as the food is described"',
        "scale = 1000 # values are whole thousandths of the unit in the measure's name",
        f"missing = {MISSING} # not known; zero is a printed zero",
        f"text_sha256 = {quoted(hashlib.sha256(text).hexdigest())}",
        f"values_sha256 = {quoted(hashlib.sha256(values).hexdigest())}",
        "measures = [",
        *(f"    {quoted(measure)}," for measure in MEASURES),
        "]",
        "groups = [",
        *(f"    {quoted(group)}," for group in groups),
        "]",
    ]
    for prefix, edition, title, note, archive in SOURCES:
        lines += [
            "",
            "[[source]]",
            f"id_prefix = {quoted(prefix)}",
            f"edition = {quoted(edition)}",
            f"title = {quoted(title)}",
            'publisher = "US Department of Agriculture, Agricultural Research Service"',
            'licence = "work of the US federal government, public domain"',
            f"package = {quoted(archive.package)}",
            f"package_version = {quoted(archive.version)}",
            f"archive_sha256 = {quoted(archive.sha256)}",
            f"read_on = {READ_ON}",
            'status = "read"',
            f"note = {quoted(note)}",
        ]
    return "\n".join(lines) + "\n"


def encode(foods: Sequence[SourceFood]) -> dict[str, bytes]:
    """File name -> bytes for foods sorted by id; nothing is written."""
    ids = [food.id for food in foods]
    if ids != sorted(set(ids)):
        raise BuildError("foods are not in the order of their ids, or an id appears twice.")
    groups = sorted({food.group for food in foods})
    number = {group: index for index, group in enumerate(groups)}
    text = "".join(text_line(food, number[food.group]) for food in foods).encode("utf-8")
    values = b"".join(values_row(food) for food in foods)
    return {
        HEADER: header_text(foods, groups, text, values).encode("utf-8"),
        TEXT: text,
        VALUES: values,
        ALLOW_LIST: "".join(f"{food.id}\t{food.name}\n" for food in foods).encode("utf-8"),
    }


def write_all(files: Mapping[str, bytes], folder: Path) -> None:
    """Write all files beside their old versions, then put each in place; no half file is ever left."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder, prefix=".generic-foods-") as staging:
        for name, content in files.items():
            (Path(staging) / name).write_bytes(content)
        for name in files:
            os.replace(Path(staging) / name, folder / name)
