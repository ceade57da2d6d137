"""Writes an index whole or not at all: beside the old one, whose place it takes when it is whole and on the disk."""

import errno
import glob
import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Final

from service.domain.errors import StoreFault
from service.domain.messages import message
from service.lookup.branded.schema import TABLES

PRAGMAS: Final = """
PRAGMA page_size=4096; PRAGMA journal_mode=OFF; PRAGMA synchronous=OFF; PRAGMA locking_mode=EXCLUSIVE;
PRAGMA cache_size=-65536; PRAGMA temp_store=MEMORY;
"""
"""No journal and no waiting for the disk: a file that is not whole is thrown away. ``EXCLUSIVE`` marks it as being written."""


@contextmanager
def new_index(to: Path) -> Iterator[sqlite3.Connection]:
    """A new index, which takes the place of ``to`` when the block ends without a fault, and is gone otherwise."""
    part = to.with_name(f".{to.name}.{os.getpid()}.part")
    try:
        to.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        _remove_leftovers(to)
        try:
            with closing(sqlite3.connect(part, isolation_level=None)) as index:
                index.executescript(PRAGMAS + TABLES)
                index.execute("BEGIN EXCLUSIVE")
                yield index
                index.execute("COMMIT")
            with part.open("rb+") as file:
                os.fsync(file.fileno())
            part.replace(to)
        finally:
            part.unlink(missing_ok=True)
    except sqlite3.OperationalError as fault:
        full = "full" in str(fault)
        raise _not_written(to, None if full else str(fault)) from fault
    except OSError as fault:
        raise _not_written(to, None if fault.errno == errno.ENOSPC else fault.strerror) from fault


def _not_written(to: Path, reason: str | None) -> StoreFault:
    problem = message("fault.disk-full") if reason is None else message("fault.file-not-written", reason=reason)
    return StoreFault(pointer="", value=str(to), problem=problem)


def _remove_leftovers(to: Path) -> None:
    """Remove what a build that was killed has left: files of that kind that no process holds."""
    for part in to.parent.glob(f".{glob.escape(to.name)}.*.part"):
        try:
            with closing(sqlite3.connect(part, timeout=0, isolation_level=None)) as left:
                left.execute("BEGIN EXCLUSIVE")
        except sqlite3.OperationalError as fault:
            if "locked" in str(fault):
                continue
        except sqlite3.DatabaseError:
            pass  # half written, and nobody holds it
        part.unlink(missing_ok=True)
