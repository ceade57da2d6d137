"""Write a household out: one JSON file, or CSV files with photographs in a folder or a zip file; never access keys."""

import zipfile
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import BinaryIO
from uuid import UUID

from service.domain.errors import BadInput, NotThere
from service.domain.messages import message
from service.jobs.household.kinds import RESOURCES
from service.jobs.household.transfer.csv import as_tables
from service.jobs.household.transfer.json import as_json
from service.jobs.household.transfer.photographs import FOLDER, file_of, written_before
from service.jobs.household.transfer.whole_household import WholeHousehold
from service.store.access.households import all_households
from service.store.database import Store
from service.store.files.whole_file import whole_file
from service.store.household.packet_photos import photos_of
from service.store.household.records import Connection
from service.store.household.whole_household import household_record, records_of

EARLIEST = (1980, 1, 1, 0, 0, 0)
"""The moment that zip files give for every file in them, so that the bytes hang on nothing but the content."""


def read_household(store: Store, household: UUID) -> WholeHousehold:
    """All records of a household, as they are at one moment; ``NotThere`` if there is none of that id."""
    with store.reading() as connection:
        return household_at(connection, household)


def household_at(connection: Connection, household: UUID) -> WholeHousehold:
    """All records of a household as a transaction sees them; ``NotThere`` if there is none of that id."""
    record = household_record(connection, household)
    if record is None:
        raise no_household(str(household))
    return WholeHousehold(
        record,
        {name: list(records_of(connection, resource.kind, household)) for name, resource in RESOURCES.items()},
    )


def export_household(store: Store, household: UUID, out: str, *, as_csv: bool) -> WholeHousehold:
    """Write a household to a file, or as CSV to a folder or (named .zip) a zip file; the records that were written.

    Photographs of packets go beside the CSV files. They are read one by one, so that many take no memory.
    """
    place = Path(out)
    with store.reading() as connection:
        whole = household_at(connection, household)
        photographs = ((file_of(packet), image) for packet, image in photos_of(connection, household))
        if not as_csv:
            _write(place, as_json(whole))
        elif place.suffix.lower() == ".zip":
            with whole_file(place) as file:
                write_zip(file, as_tables(whole), photographs)
        else:
            _write_folder(place, as_tables(whole), photographs)
    return whole


def write_zip(out: BinaryIO, tables: Mapping[str, bytes], photographs: Iterable[tuple[str, bytes]]) -> None:
    """Files as one zip file; the same files give the same bytes."""
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in tables.items():
            archive.writestr(_entry(name, zipfile.ZIP_DEFLATED), content)
        for name, content in photographs:
            archive.writestr(_entry(name, zipfile.ZIP_STORED), content)  # a JPEG gets no smaller


def the_household(store: Store, given: str | None) -> UUID:
    """The household named, or the only one; ``LunchError`` where it is not clear which."""
    with store.reading() as connection:
        known = [one for one, _ in all_households(connection)]
    if given is not None:
        if given not in map(str, known):
            raise no_household(given)
        return UUID(given)
    if len(known) != 1:
        raise BadInput(
            pointer="--household",
            value=len(known),
            problem=message("fault.several-households") if known else message("fault.no-household-yet"),
        )
    return known[0]


def no_household(given: str) -> NotThere:
    """The fault for an id of no household."""
    return NotThere(
        pointer="--household",
        value=given,
        problem=message("fault.no-household"),
    )


def _entry(name: str, packing: int) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, EARLIEST)
    entry.compress_type = packing
    entry.external_attr = 0o600 << 16
    return entry


def _write_folder(folder: Path, tables: Mapping[str, bytes], photographs: Iterable[tuple[str, bytes]]) -> None:
    """Write the files to a folder; photographs of an export before this one that are kept no longer are removed."""
    _make_folder(folder)
    for name, content in tables.items():
        _write(folder / name, content)
    left = written_before(folder)
    for name, content in photographs:
        _make_folder(folder / FOLDER)
        _write(folder / name, content)
        left.discard(folder / name)
    for file in left:
        file.unlink()


def _write(file: Path, content: bytes) -> None:
    with whole_file(file) as out:
        out.write(content)


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
    except OSError as fault:
        raise BadInput(
            pointer="--out",
            value=str(folder),
            problem=message("fault.folder-not-made", reason=fault.strerror),
        ) from fault
