"""The nutrition values of the versions of an archive: noted on the disk as they are read, and then kept only where needed.

The values of all versions do not fit in memory, and which version has any is only known after the last row.
"""

from collections.abc import Iterable
from typing import IO, TYPE_CHECKING, Final

import numpy as np

from service.domain.messages import message
from service.lookup.branded.archive import FoodArchive, archive_fault
from service.lookup.branded.nutrients import fdc_nutrients
from service.lookup.branded.versions import Flags, Ids, Versions, whole_numbers

if TYPE_CHECKING:
    import pyarrow as pa

PAIR: Final = np.dtype([("nutrient", "<u2"), ("amount", "<f8")])
"""The same bytes as ``schema.AMOUNT``."""
NOTED: Final = np.dtype([("place", "<i4"), ("pair", PAIR)])
AT_ONCE: Final = 2_000_000
"""So many noted values are read back at a time."""


class NotedAmounts:
    """The amounts of all versions, in a file that is open for reading and writing; and which versions have any."""

    def __init__(self, file: IO[bytes], versions: Versions) -> None:
        self._file = file
        self._versions = versions
        self.has_any: Flags = np.zeros(len(versions.fdc_ids), bool)

    def note(self, blocks: Iterable["pa.RecordBatch"]) -> None:
        """Note the rows of food_nutrient.csv (``fdc_id``, ``nutrient_id``, ``amount``) that are of a version and a known nutrient."""
        read = np.zeros(2**16, bool)
        read[[one.id for one in fdc_nutrients()]] = True
        for block in blocks:
            nutrients = whole_numbers(block["nutrient_id"])
            amounts = block["amount"].to_numpy(zero_copy_only=False)
            places = self._versions.places(whole_numbers(block["fdc_id"]))
            kept = (places >= 0) & (nutrients >= 0) & (nutrients < len(read)) & np.isfinite(amounts)
            kept[kept] = read[nutrients[kept]]
            noted = np.empty(int(kept.sum()), NOTED)
            noted["place"] = places[kept]
            noted["pair"]["nutrient"] = nutrients[kept]
            noted["pair"]["amount"] = amounts[kept]
            self.has_any[noted["place"]] = True
            self._file.write(noted.tobytes())

    def of(self, places: Ids) -> "Amounts":
        """The amounts of some versions."""
        wanted = np.zeros(len(self.has_any), bool)
        wanted[places] = True
        kept: list[np.ndarray] = []
        self._file.seek(0)
        while found := self._file.read(AT_ONCE * NOTED.itemsize):
            rows = np.frombuffer(found, NOTED)
            kept.append(rows[wanted[rows["place"]]])
        rows = np.concatenate(kept) if kept else np.empty(0, NOTED)
        return Amounts(rows[np.argsort(rows["place"], kind="stable")])


class Amounts:
    """The amounts of some versions, as the bytes that the index keeps."""

    def __init__(self, rows: np.ndarray) -> None:
        self._places = np.ascontiguousarray(rows["place"])
        self._pairs = rows["pair"].tobytes()

    def of(self, places: Ids) -> list[bytes]:
        """Those of each version; empty for one that has none."""
        first = np.searchsorted(self._places, places, "left") * PAIR.itemsize
        after = np.searchsorted(self._places, places, "right") * PAIR.itemsize
        return [self._pairs[one:other] for one, other in zip(first.tolist(), after.tolist(), strict=True)]


def check_units(archive: FoodArchive) -> None:
    """Raise ``BadInput`` where the archive gives a nutrient in another unit than the one that is known here."""
    import pyarrow as pa

    known = {one.id: one for one in fdc_nutrients()}
    for block in archive.blocks("nutrient.csv", {"id": pa.int64(), "unit_name": pa.string()}):
        for number, unit in zip(block["id"].to_pylist(), block["unit_name"].to_pylist(), strict=True):
            if number in known and str(unit).strip().upper() != known[number].unit:
                problem = message(
                    "fault.archive-other-unit",
                    nutrient=str(number),
                    name=known[number].name,
                    unit=unit,
                    known=known[number].unit,
                )
                raise archive_fault(archive.path, problem)
