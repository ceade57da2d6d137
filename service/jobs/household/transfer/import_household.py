"""Take in what ``export`` wrote: all of it or nothing, as a new household or into one that is empty."""

import io
import zipfile
from pathlib import Path
from typing import BinaryIO
from uuid import UUID

from service.domain.errors import AlreadyThere, BadInput
from service.domain.messages import message
from service.jobs.household.kinds import RESOURCES
from service.jobs.household.packets.photographs import MEDIA_TYPE
from service.jobs.household.transfer.csv import FILES, from_tables
from service.jobs.household.transfer.export_household import no_household
from service.jobs.household.transfer.json import from_json
from service.jobs.household.transfer.photographs import FOLDER, SUFFIX, is_photograph, photographs_of
from service.jobs.household.transfer.unzipped import unzipped
from service.jobs.household.transfer.whole_household import WholeHousehold, columns_of
from service.store.database import Store
from service.store.files.plain_file import open_plain, read_plain
from service.store.household.packet_photos import keep_photo
from service.store.household.whole_household import (
    holds_records,
    household_record,
    kept_elsewhere,
    put_household,
    put_records,
)

MOST_BYTES = 200_000_000
"""Of a file that is taken in, of all files of a folder together, and of a zip unpacked."""


def read_export(file: str) -> WholeHousehold:
    """Read a JSON file, a folder of CSV files with photographs or a zip of them; ``LunchError`` names line, field, value and remedy."""
    path = Path(file)
    try:
        if path.is_dir():
            return _from_files(file, *_folder(path))
        with open_plain(path) as opened:
            if not zipfile.is_zipfile(opened):
                return from_json(file, read_plain(path, MOST_BYTES))
            return _from_zip(file, opened, MOST_BYTES)
    except OSError as fault:
        problem = message("fault.export-unreadable", reason=fault.strerror or str(fault))
        raise BadInput(pointer="FILE", value=file, problem=problem) from fault


def export_of(name: str, content: bytes, most: int = MOST_BYTES) -> WholeHousehold:
    """Read the bytes of a JSON file or of a zip of CSV files; ``LunchError`` names line, field, value and remedy.

    ``name``: of the file, for its faults; ``most``: bytes that a zip may hold unpacked.
    """
    if not zipfile.is_zipfile(io.BytesIO(content)):
        return from_json(name, content)
    return _from_zip(name, io.BytesIO(content), most)


def import_household(store: Store, whole: WholeHousehold, into: UUID | None = None) -> UUID:
    """Keep a household as it was written out, all of it or nothing; its id.

    ``into``: an empty household that takes it in and keeps its own id and access keys; left out: the id of the file.
    ``AlreadyThere`` if that household stores anything, or another one keeps any of the records.
    """
    household = into or whole.household.id
    rows = {
        name: [(record, columns_of(name, record.body)) for record in records] for name, records in whole.records.items()
    }
    with store.writing() as connection:
        if into is not None and household_record(connection, into) is None:
            raise no_household(str(into))
        if holds_records(connection, household):
            raise AlreadyThere(
                pointer="FILE",
                value=str(household),
                problem=message("fault.household-not-empty"),
            )
        for name, resource in RESOURCES.items():
            there = kept_elsewhere(connection, resource.kind, (record.id for record, _ in rows[name]))
            if there is not None:
                raise AlreadyThere(
                    pointer=f"FILE /{name}",
                    value=str(there),
                    problem=message("fault.kept-elsewhere"),
                )
        put_household(connection, whole.household._replace(id=household))
        for name, resource in RESOURCES.items():
            put_records(connection, resource.kind, household, rows[name])
        for packet, image in whole.photographs.items():
            keep_photo(connection, household, packet, MEDIA_TYPE, image)
    return household


def _folder(path: Path) -> tuple[dict[str, bytes], dict[str, bytes]]:
    """The CSV files and the photographs of a folder."""
    left = MOST_BYTES

    def content(file: Path) -> bytes:
        nonlocal left
        found = read_plain(file, left)
        left -= len(found)
        return found

    tables = {one.name: content(one) for one in sorted(path.iterdir()) if one.suffix == ".csv"}
    photographs = {f"{FOLDER}/{one.name}": content(one) for one in sorted((path / FOLDER).glob(f"*{SUFFIX}"))}
    return tables, photographs


def _from_zip(name: str, file: BinaryIO, most: int) -> WholeHousehold:
    files = unzipped(name, file, most, _is_ours)
    photographs = {one: files.pop(one) for one in list(files) if is_photograph(one)}
    return _from_files(name, files, photographs)


def _is_ours(file: str) -> bool:
    """Whether a file of a zip is looked at; a table that is not known here may be of a newer version."""
    return file in FILES or is_photograph(file) or ("/" not in file and file.endswith(".csv"))


def _from_files(place: str, tables: dict[str, bytes], photographs: dict[str, bytes]) -> WholeHousehold:
    whole = from_tables(place, tables)
    return whole._replace(photographs=photographs_of(place, photographs, whole.records["packets"]))
