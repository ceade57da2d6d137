"""Write a household out: one JSON file, or CSV files in a folder or a zip file. Access keys are not written."""

import io
import zipfile
from pathlib import Path
from uuid import UUID

from service.domain.errors import BadInput, NotThere
from service.domain.messages import message
from service.jobs.household.kinds import RESOURCES
from service.jobs.household.transfer.csv import as_tables
from service.jobs.household.transfer.json import as_json
from service.jobs.household.transfer.whole_household import WholeHousehold
from service.store.database import Store
from service.store.households import all_households
from service.store.whole_file import whole_file
from service.store.whole_household import household_record, records_of

EARLIEST = (1980, 1, 1, 0, 0, 0)
"""The moment that zip files give for every file in them, so that the bytes hang on nothing but the content."""


def read_household(store: Store, household: UUID) -> WholeHousehold:
    """All that a household stores, as it is at one moment; ``NotThere`` if there is none of that id."""
    with store.reading() as connection:
        record = household_record(connection, household)
        if record is None:
            raise no_household(str(household))
        return WholeHousehold(
            record,
            {name: list(records_of(connection, resource.kind, household)) for name, resource in RESOURCES.items()},
        )


def export_household(store: Store, household: UUID, out: str, *, as_csv: bool) -> WholeHousehold:
    """Write a household to a file, or as CSV to a folder or (named .zip) a zip file; what was written."""
    whole = read_household(store, household)
    place = Path(out)
    if not as_csv:
        _write(place, as_json(whole))
    elif place.suffix.lower() == ".zip":
        _write(place, zipped(as_tables(whole)))
    else:
        _make_folder(place)
        for file, content in as_tables(whole).items():
            _write(place / file, content)
    return whole


def zipped(files: dict[str, bytes]) -> bytes:
    """Files in a zip file; the same files give the same bytes."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            entry = zipfile.ZipInfo(name, EARLIEST)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o600 << 16
            archive.writestr(entry, content)
    return out.getvalue()


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
