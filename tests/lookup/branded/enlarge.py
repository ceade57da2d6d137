"""Makes a large invented archive in the format of FoodData Central, with a truth of which version of each code is the newest.

Names, brands, codes and values are made up at random, the same for the same size. The truth is found version by version in
plain Python, in another way than the program finds it.

``python -m tests.lookup.branded.enlarge ARCHIVE.zip CODES`` writes one, with its truth beside it as JSON.
"""

import json
import sys
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from pyarrow import csv as arrow_csv

from tests.lookup.branded.make_archive import BRANDED, FOLDER, FOOD, FOOD_NUTRIENT, NUTRIENT, UNITS, csv_text

VERSIONS_A_CODE = 5
AMOUNTS_A_VERSION = 13.5
AT_ONCE = 100_000
SYLLABLES = [consonant + vowel for consonant in "bdfgklmnprstvz" for vowel in "aeio"]
FOODS = [
    "BISCUITS",
    "CRACKERS",
    "YOGURT",
    "CHEESE",
    "BREAD",
    "SOUP",
    "NOODLES",
    "CEREAL",
    "JUICE",
    "SAUCE",
    "COOKIES",
    "CHIPS",
    "BEANS",
    "RICE",
    "PASTA",
    "GRANOLA",
    "BARS",
    "SPREAD",
    "DIP",
    "TORTILLAS",
]
PARTS = [
    "WHEAT FLOUR",
    "SUGAR",
    "PALM OIL",
    "SALT",
    "WHEY (MILK)",
    "SOY LECITHIN",
    "WATER",
    "CORN STARCH",
    "NATURAL FLAVOR",
    "EGG WHITES",
    "ALMONDS",
    "PEANUTS",
    "SESAME SEEDS",
    "CITRIC ACID",
    "TOMATO PASTE",
    "GARLIC POWDER",
    "ONION POWDER",
    "CANE SYRUP",
    "OATS",
    "RICE FLOUR",
    "SUNFLOWER OIL",
    "COCOA",
    "SKIM MILK POWDER",
    "YEAST",
    "SPICES",
]
NUTRIENTS = np.array(
    [1008, 1003, 1004, 1005, 1258, 2000, 1079, 1093, 1087, 1089, 1253, 1257, 1110, 1104, 1092, 1162, 1235], np.int64
)


class Truth(NamedTuple):
    """What is known of the archive. ``newest``: code -> id of the newest version; ``values``: code -> id of the version with the values.

    ``descriptions``: code -> description of the newest version, for the first thousand codes.
    """

    newest: dict[int, int]
    values: dict[int, int]
    descriptions: dict[int, str]


def write_enlarged(path: Path, codes: int, seed: int = 7) -> Truth:
    """Write an archive of so many codes with about five versions each and 13.5 values a version; some versions have none."""
    random = np.random.default_rng(seed)
    vocabulary = _vocabulary(random, min(30_000, 1_000 + codes))
    code_of = _codes(random, codes)
    counts = 1 + random.poisson(VERSIONS_A_CODE - 1, codes)
    of = np.repeat(np.arange(codes), counts)
    total = len(of)
    # Ids mostly rise with the day, yet not always, so that neither alone says which is the newest.
    within = np.arange(total) - np.repeat(np.cumsum(counts) - counts, counts)
    day = 17_000 + within * 90 + random.integers(0, 60, total)
    tied = random.random(total) < 0.05
    day[1:][tied[1:] & (of[1:] == of[:-1])] = day[:-1][tied[1:] & (of[1:] == of[:-1])]
    ids = np.empty(total, np.int64)
    ids[np.argsort(day + random.integers(-120, 120, total), kind="stable")] = 1_000_000 + np.arange(total)
    has_modified = random.random(total) < 0.9
    modified = np.where(has_modified, day, -1)
    available = np.where(has_modified, day + random.integers(-400, 400, total), day)
    has_amounts = random.random(total) < 0.93
    order = np.argsort(ids)
    of, ids, modified, available, has_amounts = (
        of[order],
        ids[order],
        modified[order],
        available[order],
        has_amounts[order],
    )
    words = random.zipf(1.3, (total, 4)) % len(vocabulary)
    kinds = random.integers(0, len(FOODS), total)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as packed:
        _write(packed, "branded_food.csv", BRANDED, _branded(random, vocabulary, code_of, of, ids, modified, available))
        _write(packed, "food.csv", FOOD, _foods(vocabulary, words, kinds, ids))
        _write(packed, "food_nutrient.csv", FOOD_NUTRIENT, _amounts(random, ids[has_amounts]))
        units = [
            {"id": one, "name": name, "unit_name": unit, "nutrient_nbr": nbr}
            for one, (name, unit, nbr) in UNITS.items()
        ]
        packed.writestr(FOLDER + "nutrient.csv", csv_text(NUTRIENT, units))
    return _truth(
        code_of, of, ids, modified, available, has_amounts, lambda place: _described(vocabulary, words, kinds, place)
    )


def _truth(code_of, of, ids, modified, available, has_amounts, described) -> Truth:  # type: ignore[no-untyped-def]
    newest: dict[int, tuple[int, int, int]] = {}
    values: dict[int, tuple[int, int]] = {}
    rows = zip(of.tolist(), ids.tolist(), modified.tolist(), available.tolist(), has_amounts.tolist(), strict=True)
    for place, (one, fdc_id, changed, offered, has) in enumerate(rows):
        code = int(code_of[one])
        key = (changed if changed >= 0 else offered, fdc_id)
        if code not in newest or key > newest[code][:2]:
            newest[code] = (*key, place)
        if has and (code not in values or key > values[code]):
            values[code] = key
    some = list(newest)[:1000]
    return Truth(
        {code: key[1] for code, key in newest.items()},
        {code: key[1] for code, key in values.items()},
        {code: described(newest[code][2]) for code in some},
    )


def _vocabulary(random: np.random.Generator, words: int) -> list[str]:
    made = {"".join(random.choice(SYLLABLES, random.integers(2, 5))).upper() for _ in range(words)}
    return sorted(one for one in made if len(one) >= 4)


def _codes(random: np.random.Generator, codes: int) -> np.ndarray:
    """Different codes of 12 and 13 digits, nearly all with a right check digit (weights 3 and 1 from the right, GS1)."""
    payloads = np.unique(random.integers(10**9, 10**12, codes + codes // 50 + 10))
    payloads = random.permutation(payloads)[:codes]
    total = np.zeros(len(payloads), np.int64)
    rest = payloads.copy()
    for place in range(12):
        total += rest % 10 * (3 if place % 2 == 0 else 1)
        rest //= 10
    right = -total % 10
    wrong = random.random(len(payloads)) < 0.01
    return payloads * 10 + np.where(wrong, (right + 1) % 10, right)


def _described(vocabulary: list[str], words: np.ndarray, kinds: np.ndarray, place: int) -> str:
    return " ".join([*(vocabulary[one] for one in words[place].tolist()), FOODS[kinds[place]]])


def _branded(random, vocabulary, code_of, of, ids, modified, available) -> Iterator[pa.Table]:  # type: ignore[no-untyped-def]
    lists = [", ".join(random.choice(PARTS, random.integers(4, 24))) + "." for _ in range(4_000)] + ["", "N/A", "SALT"]
    lists_of = pa.array(lists)
    owners = pa.array(
        [f"{vocabulary[one]} {vocabulary[-one]} FOODS LLC" for one in random.integers(1, len(vocabulary) // 2, 5_000)]
    )
    for start in range(0, len(ids), AT_ONCE):
        part = slice(start, start + AT_ONCE)
        count = len(ids[part])
        texts = pa.array(code_of[of[part]]).cast(pa.string())
        padded = pc.utf8_lpad(texts, 14, "0")
        yield pa.table(
            {
                "fdc_id": ids[part],
                "brand_owner": owners.take(pa.array(code_of[of[part]] % 5_000)),
                "brand_name": owners.take(pa.array(code_of[of[part]] % 4_999)),
                "gtin_upc": pc.if_else(pa.array(random.random(count) < 0.4), padded, texts),
                "ingredients": pc.binary_join_element_wise(
                    lists_of.take(pa.array(random.integers(0, len(lists), count))),
                    lists_of.take(pa.array(random.integers(0, len(lists), count))),
                    " ",
                ),
                "serving_size": random.integers(10, 300, count).astype(float),
                "serving_size_unit": pa.array(["g", "ml", "GRM", "MLT", "IU"]).take(
                    pa.array(random.choice(5, count, p=[0.6, 0.15, 0.15, 0.08, 0.02]))
                ),
                "household_serving_fulltext": pa.array(["1 cup", "2 pieces", ""]).take(
                    pa.array(random.integers(0, 3, count))
                ),
                "branded_food_category": pa.array(FOODS).take(pa.array(random.integers(0, len(FOODS), count))),
                "data_source": pa.array(["LI"] * count),
                "modified_date": _days(modified[part]),
                "available_date": _days(available[part]),
                "market_country": pa.array(["United States"] * count),
                "discontinued_date": _days(np.where(random.random(count) < 0.02, available[part], -1)),
            }
        )


def _foods(vocabulary, words, kinds, ids) -> Iterator[pa.Table]:  # type: ignore[no-untyped-def]
    known, named = pa.array(vocabulary), pa.array(FOODS)
    for start in range(0, len(ids), AT_ONCE):
        part = slice(start, start + AT_ONCE)
        count = len(ids[part])
        parts = [known.take(pa.array(words[part, column])) for column in range(words.shape[1])]
        yield pa.table(
            {
                "fdc_id": ids[part],
                "data_type": pa.array(["branded_food"] * count),
                "description": pc.binary_join_element_wise(*parts, named.take(pa.array(kinds[part])), " "),
                "publication_date": _days(np.full(count, 20_000)),
            }
        )


def _amounts(random: np.random.Generator, ids: np.ndarray) -> Iterator[pa.Table]:
    first = 1
    for start in range(0, len(ids), AT_ONCE // 5):
        part = ids[start : start + AT_ONCE // 5]
        kept = random.random((len(part), len(NUTRIENTS))) < AMOUNTS_A_VERSION / 0.93 / len(NUTRIENTS)
        kept[:, 0] = True
        rows = np.repeat(part, kept.sum(axis=1))
        nutrients = np.tile(NUTRIENTS, (len(part), 1))[kept]
        amounts = np.round(random.gamma(1.5, 12, len(rows)), 2)
        yield pa.table(
            {
                "id": np.arange(first, first + len(rows)),
                "fdc_id": rows,
                "nutrient_id": nutrients,
                "amount": amounts,
                "derivation_id": np.full(len(rows), 75),
            }
        )
        first += len(rows)


def _days(days: np.ndarray) -> pa.Array:
    texts = pa.array(days.astype("datetime64[D]")).cast(pa.string())
    return pc.if_else(pa.array(days >= 0), texts, pa.scalar(None, pa.string()))


def _write(packed: zipfile.ZipFile, name: str, columns: list[str], tables: Iterator[pa.Table]) -> None:
    with packed.open(FOLDER + name, "w", force_zip64=True) as file:
        for place, table in enumerate(tables):
            empty = pa.nulls(table.num_rows, pa.string())
            whole = pa.table({column: table[column] if column in table.column_names else empty for column in columns})
            arrow_csv.write_csv(
                whole, file, arrow_csv.WriteOptions(include_header=place == 0, quoting_style="all_valid")
            )


def read_truth(archive: Path) -> Truth:
    """The truth that was written beside an archive."""
    newest, values, descriptions = json.loads(_beside(archive).read_text())
    return Truth(*({int(code): one for code, one in part.items()} for part in (newest, values, descriptions)))


def _beside(archive: Path) -> Path:
    return archive.with_suffix(".truth.json")


if __name__ == "__main__":
    _beside(Path(sys.argv[1])).write_text(json.dumps(write_enlarged(Path(sys.argv[1]), int(sys.argv[2]))))
