"""Writes a file whole or not at all, for its owner only: what is written out is about children's health."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from service.domain.errors import BadInput
from service.domain.messages import message

OWNER_ONLY = 0o600


@contextmanager
def whole_file(path: Path, pointer: str = "FILE") -> Iterator[BinaryIO]:
    """A file to write to that takes the place of ``path`` once it is whole and on the disk.

    ``pointer``: what names the file in a fault. Until then it is ``.NAME.PROCESS.part`` next to it; after a fault it is gone, and ``path`` is as it was. Mode 0600.
    ``BadInput`` where it cannot be written.
    """
    if not path.name:
        raise BadInput(pointer=pointer, value=str(path), problem=message("fault.file-is-folder"))
    part_file = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        part_file.unlink(missing_ok=True)
        opened = os.open(part_file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, OWNER_ONLY)
        try:
            with os.fdopen(opened, "wb") as file:
                yield file
                file.flush()
                os.fsync(file.fileno())
            part_file.replace(path)
            _sync_folder(path.parent)
        except BaseException:
            part_file.unlink(missing_ok=True)
            raise
    except OSError as fault:
        raise BadInput(
            pointer=pointer,
            value=str(path),
            problem=message("fault.file-not-written", reason=fault.strerror),
        ) from fault


def _sync_folder(folder: Path) -> None:
    """The new name is on the disk too, where the platform can say so of a folder."""
    if os.name != "posix":
        return
    opened = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)
