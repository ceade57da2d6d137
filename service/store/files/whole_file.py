"""Writes a file whole or not at all, for its owner only: what is written out is about children's health."""

import glob
import os
import secrets
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

    ``pointer``: what names the file in a fault. Until then it is ``.NAME.NUMBER.part`` next to it; after a fault it is gone, and ``path`` is as it was. Mode 0600.
    ``BadInput`` where it cannot be written.
    """
    if not path.name:
        raise BadInput(pointer=pointer, value=str(path), problem=message("fault.file-is-folder"))
    try:
        with part_beside(path) as (opened, part_file):
            with os.fdopen(opened, "wb", closefd=False) as file:
                yield file
                file.flush()
                os.fsync(opened)
            part_file.replace(path)
            _sync_folder(path.parent)
    except OSError as fault:
        raise BadInput(
            pointer=pointer,
            value=str(path),
            problem=message("fault.file-not-written", reason=fault.strerror),
        ) from fault


@contextmanager
def part_beside(path: Path) -> Iterator[tuple[int, Path]]:
    """A new file beside ``path``, mode 0600, open and locked until the block ends; gone then if it still has its name.

    What killed runs have left beside ``path`` is removed first: a run that goes on holds the lock of its own.
    """
    remove_leftovers(path)
    opened, part_file = _new_part(path)
    try:
        yield opened, part_file
    finally:
        part_file.unlink(missing_ok=True)
        os.close(opened)


def _new_part(path: Path) -> tuple[int, Path]:
    """A new file, locked; made again where another run has taken it for a leftover before it was locked."""
    while True:
        part_file = path.with_name(f".{path.name}.{secrets.randbelow(10**12)}.part")
        opened = os.open(part_file, os.O_RDWR | os.O_CREAT | os.O_EXCL, OWNER_ONLY)
        os.fchmod(opened, OWNER_ONLY)  # whatever the umask takes away
        if lock_if_free(opened) and os.fstat(opened).st_nlink:
            return opened, part_file
        os.close(opened)
        part_file.unlink(missing_ok=True)


def remove_leftovers(path: Path) -> None:
    """Remove the files that killed runs have left beside ``path``, as far as this user may."""
    for left in path.parent.glob(f".{glob.escape(path.name)}.*.part"):
        if not left.name.removeprefix(f".{path.name}.").removesuffix(".part").isdecimal():
            continue  # the part of a file whose name goes on
        try:
            opened = os.open(left, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0))
        except OSError:
            continue
        try:
            if lock_if_free(opened):
                left.unlink(missing_ok=True)
        finally:
            os.close(opened)


def lock_if_free(opened: int) -> bool:
    """Lock an open file until it is closed or its process ends, however it ends; False if another process has locked it."""
    import fcntl

    try:
        fcntl.flock(opened, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def _sync_folder(folder: Path) -> None:
    """The new name is on the disk too, where the platform can say so of a folder."""
    if os.name != "posix":
        return
    opened = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)
