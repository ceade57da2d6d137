"""Which version of the entry of a code is the newest, and which has the newest nutrition values.

About five versions of an entry are in an archive. The newest is the one last modified (where that is not said: last made
available), and of those as new the one with the highest id.
"""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.lookup.branded.codes import MOST_DIGITS

if TYPE_CHECKING:
    import pyarrow as pa

Ids = NDArray[np.int64]
Days = NDArray[np.int32]
Flags = NDArray[np.bool_]
Small = NDArray[np.int8]
NO_DAY: Final = np.int32(-(2**31))
"""In the place of a day that is not given: before all others."""
UNITS: Final = {"g": "g", "grm": "g", "gm": "g", "ml": "ml", "mlt": "ml"}
"""How entries write that they are by weight or by volume; with any other unit it is not known what their values are for."""
BASES: Final = (None, "g", "ml")


class Versions(NamedTuple):
    """The versions of all entries with a code, in order of their ids; each array has one value a version.

    ``days``: when last changed, in days since 1970-01-01 or ``NO_DAY``. ``bases``: what its values are for, as a place in ``BASES``.
    ``refused``: how many entries have no code that can be one.
    """

    fdc_ids: Ids
    codes: Ids
    days: Days
    bases: Small
    refused: int

    def places(self, fdc_ids: Ids) -> Ids:
        """The place of each id among the versions; -1 where it is not one of them."""
        found = np.searchsorted(self.fdc_ids, fdc_ids)
        found[found == len(self.fdc_ids)] = 0
        return np.where(self.fdc_ids[found] == fdc_ids, found, -1) if len(self.fdc_ids) else np.full_like(fdc_ids, -1)

    def newest(self, among: Flags | None = None) -> Ids:
        """The place of the newest version of each code, in order of codes; ``among``: of these versions only."""
        order = np.lexsort((self.fdc_ids, self.days, self.codes))
        if among is not None:
            order = order[among[order]]
        codes = self.codes[order]
        return order[np.append(codes[1:] != codes[:-1], True)] if len(order) else order


VERSION_COLUMNS: Final = ("gtin_upc", "modified_date", "available_date", "serving_size_unit")
"""The columns of branded_food.csv that are read of every version, all as texts, beside ``fdc_id``."""


def read_versions(blocks: Iterable["pa.RecordBatch"]) -> Versions:
    """The versions in the rows of branded_food.csv, of which ``VERSION_COLUMNS`` are given."""
    ids, codes, days, bases = (
        [np.empty(0, np.int64)],
        [np.empty(0, np.int64)],
        [np.empty(0, np.int32)],
        [np.empty(0, np.int8)],
    )
    refused = 0
    for block in blocks:
        numbers = code_numbers(block["gtin_upc"])
        fdc_ids = whole_numbers(block["fdc_id"])
        given = (numbers > 0) & (fdc_ids >= 0)
        refused += len(given) - int(given.sum())
        ids.append(fdc_ids[given])
        codes.append(numbers[given])
        modified, available = day_numbers(block["modified_date"]), day_numbers(block["available_date"])
        days.append(np.where(modified == NO_DAY, available, modified)[given])
        bases.append(_bases(block["serving_size_unit"])[given])
    of_all = np.concatenate(ids)
    order = np.argsort(of_all, kind="stable")
    return Versions(
        of_all[order], np.concatenate(codes)[order], np.concatenate(days)[order], np.concatenate(bases)[order], refused
    )


def _bases(units: "pa.Array") -> Small:
    import pyarrow.compute as pc

    written = pc.dictionary_encode(units)
    meant = [basis_of(unit) for unit in written.dictionary.to_pylist()]
    places = np.array([BASES.index(one) for one in meant], np.int8)
    bases: Small = places[written.indices.to_numpy(zero_copy_only=False)]
    return bases


def basis_of(unit: str) -> str | None:
    """By weight (g) or by volume (ml), or None where the unit of an entry does not say.

    >>> basis_of("GRM"), basis_of("mlt"), basis_of("IU")
    ('g', 'ml', None)
    """
    return UNITS.get(unit.strip().lower())


def whole_numbers(column: "pa.Array") -> Ids:
    """Whole numbers as an array; -1 where none is given."""
    numbers: Ids = column.fill_null(-1).to_numpy(zero_copy_only=False)
    return numbers


def code_numbers(texts: "pa.Array") -> Ids:
    """Codes as whole numbers; 0 for what cannot be one: no digits, zeros only, or more than 14 digits."""
    import pyarrow as pa
    import pyarrow.compute as pc

    digits = pc.replace_substring_regex(texts, r"[\s\-]+", "")
    fit = pc.match_substring_regex(digits, rf"^[0-9]{{1,{MOST_DIGITS}}}$")
    numbers: Ids = pc.cast(pc.if_else(pc.fill_null(fit, False), digits, "0"), pa.int64()).to_numpy(zero_copy_only=False)
    return numbers


def day_numbers(texts: "pa.Array") -> Days:
    """Days written 2021-03-28 or 3/28/2021 as days since 1970-01-01; ``NO_DAY`` where none is given that can be read."""
    import pyarrow as pa
    import pyarrow.compute as pc

    iso = pc.strptime(pc.utf8_slice_codeunits(texts, 0, 10), "%Y-%m-%d", "s", error_is_null=True)
    us = pc.strptime(texts, "%m/%d/%Y", "s", error_is_null=True)
    numbers = pc.cast(pc.cast(pc.coalesce(iso, us), pa.date32()), pa.int32())
    days: Days = pc.fill_null(numbers, pa.scalar(NO_DAY, pa.int32())).to_numpy(zero_copy_only=False)
    return days


def day_texts(days: Days) -> list[str | None]:
    """Days since 1970-01-01 as texts YYYY-MM-DD, None for ``NO_DAY``."""
    texts = days.astype("datetime64[D]").astype(str).tolist()
    return [None if day == NO_DAY else text for day, text in zip(days.tolist(), texts, strict=True)]
