"""Photographs of packets beside the CSV files of an export: ``photographs/<id of the packet>.jpg``."""

from collections.abc import Iterable, Mapping
from pathlib import Path, PurePosixPath
from uuid import UUID

from service.domain.errors import BadInput
from service.domain.messages import message
from service.jobs.household.packets.photographs import as_kept, is_as_kept
from service.jobs.requests.fields import is_kept_id
from service.store.household.records import Record

FOLDER = "photographs"
SUFFIX = ".jpg"


def file_of(packet: UUID) -> str:
    """The name of the file of a packet's photograph."""
    return f"{FOLDER}/{packet}{SUFFIX}"


def is_photograph(file: str) -> bool:
    """Whether this is the name of such a file."""
    return file.startswith(f"{FOLDER}/") and file.endswith(SUFFIX)


def written_before(folder: Path) -> set[Path]:
    """The photographs that an export before has left in a folder; no other files, whatever lies there."""
    return {file for file in (folder / FOLDER).glob(f"*{SUFFIX}") if is_kept_id(file.stem)}


def photographs_of(place: str, files: Mapping[str, bytes], packets: Iterable[Record]) -> dict[UUID, bytes]:
    """The photographs by their packets; ``BadInput`` names the file that is of none of these packets, or no image.

    One that was not written by an export is made as one that is sent to a page: small, and nothing but pixels.
    """
    known = {record.id for record in packets}
    found = {}
    for file, content in files.items():
        name = PurePosixPath(file).stem
        packet = UUID(name) if is_kept_id(name) else None
        if packet not in known:
            raise BadInput(
                pointer=f"{place}/{file}",
                value=name,
                problem=message("fault.photograph-of-no-packet"),
            )
        try:
            found[packet] = content if is_as_kept(content) else as_kept(content)
        except BadInput as fault:
            raise BadInput(pointer=f"{place}/{file}", value=fault.value, problem=fault.problem) from fault
    return found
