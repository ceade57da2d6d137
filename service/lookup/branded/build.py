"""Builds the index of branded foods from the CSV archive of FoodData Central.

First it is found which version of each code is the newest and which has the newest values; then only the texts of those are
read. The index is written beside the old one and takes its place when it is whole: after a fault, or a stop, the old one is as it was
and nothing is left behind. The same archive gives the same bytes.
"""

import sqlite3
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from tempfile import TemporaryFile
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import numpy as np

from service.domain.messages import message
from service.lookup.branded.archive import FoodArchive, archive_fault, opened_archive
from service.lookup.branded.new_index import new_index
from service.lookup.branded.nutrition import Amounts, NotedAmounts, check_units
from service.lookup.branded.schema import INDEXES, VERSION
from service.lookup.branded.versions import (
    BASES,
    NO_DAY,
    VERSION_COLUMNS,
    Days,
    Ids,
    Versions,
    basis_of,
    day_numbers,
    day_texts,
    read_versions,
    whole_numbers,
)

if TYPE_CHECKING:
    import pyarrow as pa

Progress = Callable[[int, int], None]
"""Called with the bytes read so far and all that are to be read."""
SHORTEST_WORD: Final = 3
"""Of the words that a misspelt one is compared with."""
FIRST_DAY: Final = date(1970, 1, 1)
_TEXTS: Final = (
    "brand_owner",
    "brand_name",
    "branded_food_category",
    "serving_size",
    "serving_size_unit",
    "household_serving_fulltext",
    "ingredients",
    "modified_date",
    "available_date",
    "market_country",
    "discontinued_date",
)


class Built(NamedTuple):
    """What was built: how many foods, from how many versions, how many entries have no code that can be one, as of which day."""

    foods: int
    versions: int
    refused: int
    without_values: int
    release: date


def build_index(archive_path: Path, to: Path, progress: Progress = lambda _done, _all: None) -> Built:
    """Build the index at ``to`` from an archive.

    Raises ``BadInput`` for an archive that is damaged, cut, or not of branded foods, and ``StoreFault`` where the index cannot be
    written; what was at ``to`` is then unchanged.
    """
    done = whole = 0

    def advanced(read: int) -> None:
        nonlocal done
        done += read
        progress(min(done, whole), whole)

    with opened_archive(archive_path, advanced) as archive, new_index(to) as index:
        sizes = {
            file: archive.size(file) for file in ("branded_food.csv", "food.csv", "food_nutrient.csv", "nutrient.csv")
        }
        whole = sum(sizes.values()) + sizes["branded_food.csv"]  # which is read twice
        return _build(archive, index, to.parent)


def _build(archive: FoodArchive, index: sqlite3.Connection, folder: Path) -> Built:
    import pyarrow as pa

    check_units(archive)
    number, text = pa.int64(), pa.string()
    versions = read_versions(
        archive.blocks("branded_food.csv", {"fdc_id": number, **dict.fromkeys(VERSION_COLUMNS, text)})
    )
    if len(versions.fdc_ids) == 0:
        raise archive_fault(archive.path, message("fault.archive-no-foods"))
    newest = versions.newest()
    with TemporaryFile(dir=folder) as file:
        noted = NotedAmounts(file, versions)
        columns = {"fdc_id": number, "nutrient_id": number, "amount": pa.float64()}
        noted.note(archive.blocks("food_nutrient.csv", columns))
        with_values = versions.newest(noted.has_any)
        amounts = noted.of(with_values)
    values_of = np.full(len(versions.fdc_ids), -1)
    values_of[newest[np.searchsorted(versions.codes[newest], versions.codes[with_values])]] = with_values
    names, release = _names(archive, versions, newest)
    _write_foods(index, archive, _Chosen(versions, newest, values_of, amounts, names))
    _finish(index, release)
    return Built(len(newest), len(versions.fdc_ids), versions.refused, len(newest) - len(with_values), release)


class _Names(NamedTuple):
    """The descriptions and days of publication of the newest versions; ``row``: by the place of a version, -1 for none."""

    row: Ids
    descriptions: "pa.ChunkedArray"
    published: Days


class _Chosen(NamedTuple):
    """What the index is to hold. ``values_of``: the place of the version with the values, by that of the newest; -1 for none."""

    versions: Versions
    newest: Ids
    values_of: Ids
    amounts: Amounts
    names: _Names


def _names(archive: FoodArchive, versions: Versions, newest: Ids) -> tuple[_Names, date]:
    """From food.csv what the newest versions are called, and the newest day on which any version was published."""
    import pyarrow as pa

    is_newest = np.zeros(len(versions.fdc_ids), bool)
    is_newest[newest] = True
    places: list[Ids] = []
    descriptions: list[pa.Array] = []
    published: list[Days] = []
    latest = NO_DAY
    columns = {"fdc_id": pa.int64(), "description": pa.string(), "publication_date": pa.string()}
    for block in archive.blocks("food.csv", columns):
        at = versions.places(whole_numbers(block["fdc_id"]))
        days = day_numbers(block["publication_date"])
        latest = max(latest, days[at >= 0].max(initial=NO_DAY))
        kept = (at >= 0) & is_newest[at]
        places.append(at[kept])
        descriptions.append(block["description"].filter(pa.array(kept)))
        published.append(days[kept])
    row = np.full(len(versions.fdc_ids), -1)
    of_rows = np.concatenate(places) if places else np.empty(0, np.int64)
    row[of_rows] = np.arange(len(of_rows))
    if latest == NO_DAY:
        raise archive_fault(archive.path, message("fault.archive-no-dates"))
    names = _Names(row, pa.chunked_array(descriptions, pa.string()), np.concatenate(published))
    return names, FIRST_DAY + timedelta(days=int(latest))


def _write_foods(index: sqlite3.Connection, archive: FoodArchive, chosen: _Chosen) -> None:
    """The rows of branded_food.csv that are the newest version of their code, in their order there."""
    import pyarrow as pa

    still_to_write = np.zeros(len(chosen.versions.fdc_ids), bool)
    still_to_write[chosen.newest] = True
    first_id = 1
    for block in archive.blocks("branded_food.csv", {"fdc_id": pa.int64(), **dict.fromkeys(_TEXTS, pa.string())}):
        places = chosen.versions.places(whole_numbers(block["fdc_id"]))
        kept = (places >= 0) & still_to_write[places]
        still_to_write[places[kept]] = False
        rows = _rows(first_id, places[kept], block.filter(pa.array(kept)), chosen)
        index.executemany(f"INSERT INTO foods VALUES ({', '.join('?' * 20)})", rows)  # noqa: S608 - only placeholders
        first_id += len(rows)


def _rows(first_id: int, places: Ids, block: "pa.RecordBatch", chosen: _Chosen) -> list[tuple[Any, ...]]:
    """The rows of table ``foods`` for versions at some places, whose texts are in ``block``."""
    import pyarrow as pa

    versions, names = chosen.versions, chosen.names
    texts: dict[str, list[str]] = {name: block[name].to_pylist() for name in _TEXTS}
    in_names = names.row[places]
    described = names.descriptions.take(pa.array(in_names, mask=in_names < 0)).to_pylist()
    published = np.where(in_names < 0, NO_DAY, names.published[in_names])
    of_values = chosen.values_of[places]
    has_values = of_values >= 0
    columns = (
        range(first_id, first_id + len(places)),
        versions.codes[places].tolist(),
        versions.fdc_ids[places].tolist(),
        [one or "" for one in described],
        texts["brand_owner"],
        texts["brand_name"],
        texts["branded_food_category"],
        [_amount(one) for one in texts["serving_size"]],
        [basis_of(one) for one in texts["serving_size_unit"]],
        texts["household_serving_fulltext"],
        [one or None for one in texts["ingredients"]],
        day_texts(day_numbers(block["modified_date"])),
        day_texts(day_numbers(block["available_date"])),
        day_texts(published),
        texts["market_country"],
        day_texts(day_numbers(block["discontinued_date"])),
        [
            one if has else None
            for one, has in zip(versions.fdc_ids[of_values].tolist(), has_values.tolist(), strict=True)
        ],
        [BASES[one] for one in np.where(has_values, versions.bases[of_values], 0).tolist()],
        day_texts(np.where(has_values, versions.days[of_values], NO_DAY)),
        chosen.amounts.of(of_values),
    )
    return list(zip(*columns, strict=True))


def _amount(text: str) -> float | None:
    """A positive number as an entry writes it, or None."""
    try:
        amount = float(text)
    except ValueError:
        return None
    return amount if 0 < amount < float("inf") else None


def _finish(index: sqlite3.Connection, release: date) -> None:
    """What is made of all rows together: the index of codes, the words, and what the file says of itself."""
    index.execute(INDEXES)
    index.execute("INSERT INTO ranked (food) SELECT id FROM foods ORDER BY length(description), id")
    index.execute(
        "INSERT INTO words (rowid, description, brand) SELECT place, description, brand_owner || ' ' || brand_name "
        "FROM ranked JOIN foods ON foods.id = ranked.food ORDER BY place"
    )
    index.execute("INSERT INTO words (words) VALUES ('optimize')")
    index.execute("CREATE VIRTUAL TABLE temp.terms USING fts5vocab(main, words, row)")
    index.execute(
        "INSERT INTO vocabulary SELECT term, doc FROM temp.terms WHERE length(term) >= ? ORDER BY term",
        (SHORTEST_WORD,),
    )
    about = {"version": str(VERSION), "release": release.isoformat()}
    index.executemany("INSERT INTO about VALUES (?, ?)", about.items())
