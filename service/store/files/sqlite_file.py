"""The file of a SQLite store, looked at before it is opened: whose it is, whether it is whole, and whether it may be written to.

Nothing is written to a file that is not a store. A file of ours says so in its head (``application_id``); those of older
versions do not, and are known by their tables. A new store is made under another name and given its own when it has its head,
so that an empty file is never one of ours.
"""

import os
import shlex
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple
from urllib.parse import quote

from service.domain.errors import BadInput, StoreFault
from service.domain.messages import Message, message
from service.store.database_faults import store_fault
from service.store.files.whole_file import part_beside

APPLICATION_ID = int.from_bytes(b"Lnch", "big")
"""What ``file`` and SQLite read in the head of a store, after https://www.sqlite.org/pragma.html#pragma_application_id."""
HEAD_OF_SQLITE = b"SQLite format 3\x00"
"""The first bytes of every SQLite file. Source: https://www.sqlite.org/fileformat.html, 1.3; status: memory."""
PLACE_OF_ID = slice(68, 72)
OUR_TABLES = {"households", "access_keys"}
"""Tables that every version of a store has had."""
BESIDE = ("-wal", "-shm", "-journal")
"""What SQLite puts beside a file: the log of changes, the index of that, and the log of before."""
FIRST_LOCKED, LOCKED_BYTES = 0x40000002, 510
"""The bytes that every reader of a SQLite file locks. Source: https://www.sqlite.org/src/file/src/os.h; status: memory."""
ADDRESS = "PACKED_LUNCH_DATABASE_URL"


class Opening(NamedTuple):
    """How a file is opened. ``address``: SQLite's own, of a file that may only be read; None: as usual.

    ``by_copy``: its log of changes can only be read in a copy, since SQLite may put no index of it beside the file.
    """

    address: str | None = None
    by_copy: bool = False


AS_USUAL = Opening()


def look_at(file: Path) -> Opening:
    """How to open a store; one that is not there is made. ``StoreFault`` for what is no store, with what to do about it."""
    try:
        file = _real(file)
        _see_place(file)
        if not file.exists():
            if log := _log_of(file):
                raise _fault(file, message("fault.store-log-alone", log=log.name, command=set_aside_command(file)))
            _make(file)
            return AS_USUAL
        if os.access(file, os.R_OK):
            _see_head(file)
        else:
            raise _fault(file, message("fault.store-file-unreadable", command=_to_read(file)))
    except OSError as fault:
        problem = message("fault.store-not-made", reason=fault.strerror)
        raise StoreFault(pointer="", value="the store", problem=problem) from fault
    except sqlite3.OperationalError as fault:  # a new store for which there is no room
        raise store_fault(fault) from fault
    return _opening(file)


def copied(file: Path, folder: Path) -> Path:
    """A copy of a store in a folder of ours, with its log of changes."""
    import shutil

    copy = folder / "copy.sqlite3"
    shutil.copyfile(file, copy)
    if log := _log_of(file):
        shutil.copyfile(log, copy.with_name(f"{copy.name}{log.name.removeprefix(file.name)}"))
    return copy


def damaged(file: Path) -> StoreFault:
    """The fault of a file whose pages do not fit together."""
    return _fault(file, message("fault.store-file-damaged", command=set_aside_command(file)))


def set_aside_command(file: Path) -> str:
    """What to paste so that a file gets another name."""
    return f"packed-lunch set-aside {shlex.quote(str(file.absolute()))}"


def set_aside(file: Path) -> Path:
    """Give a file, and what SQLite has put beside it, another name: the moment is added; the new path.

    ``BadInput`` where there is nothing of that name, where a program has it open, or where it cannot be renamed.
    """
    there = [one for one in (file, *_beside(file)) if os.path.lexists(one)]
    if not there or not file.name:
        raise BadInput(pointer="FILE", value=str(file), problem=message("fault.nothing-to-set-aside"))
    aside = file.with_name(f"{file.name}.set-aside-{datetime.now(UTC):%Y%m%d-%H%M%S-%f}")
    try:
        if _in_use(file):
            raise BadInput(pointer="FILE", value=str(file), problem=message("fault.store-in-use"))
        for one in there:  # the file first: its log alone is told, a store without its log would look whole
            one.rename(aside.with_name(aside.name + one.name.removeprefix(file.name)))
    except OSError as fault:
        problem = message("fault.not-set-aside", reason=fault.strerror)
        raise BadInput(pointer="FILE", value=str(file), problem=problem) from fault
    return aside


def _real(file: Path) -> Path:
    """The file that a link leads to: SQLite puts its logs beside that one."""
    try:
        return file.resolve()
    except RuntimeError as fault:  # links that lead round in a circle
        raise _fault(file, message("fault.store-no-file", command=_of_its_own(file))) from fault


def _see_place(file: Path) -> None:
    """Its folder is made where it is missing; what is there is a file."""
    file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    if file.exists() and not file.is_file():
        raise _fault(file, message("fault.store-no-file", command=_of_its_own(file)))


def _see_head(file: Path) -> None:
    with file.open("rb") as opened:
        head = opened.read(100)
    if not head:
        raise _fault(file, message("fault.store-empty", command=set_aside_command(file)))
    if not head.startswith(HEAD_OF_SQLITE):
        raise _fault(file, message("fault.store-no-head", command=set_aside_command(file)))
    of_program = int.from_bytes(head[PLACE_OF_ID], "big")
    if of_program == APPLICATION_ID:
        return
    if of_program or not _has_our_tables(file):
        raise _fault(file, message("fault.store-of-other-program", command=_of_its_own(file)))


def _has_our_tables(file: Path) -> bool:
    """Whether a file without our mark has the tables of a store, or none at all."""
    try:
        with closing(sqlite3.connect(str(_to_read_only(file).address), uri=True)) as connection:
            names = {name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    except sqlite3.DatabaseError as fault:
        if "locked" in str(fault):
            return True  # whoever holds it has looked
        raise damaged(file) from fault
    return names <= {"alembic_version"} or names >= OUR_TABLES


def _opening(file: Path) -> Opening:
    """How to open a file that is a store: to read only where it or its folder may not be written to."""
    if _may_write_beside(file) and os.access(file, os.W_OK):
        return AS_USUAL
    return _to_read_only(file)


def _to_read_only(file: Path) -> Opening:
    """Without a log nothing else has the file open, and SQLite need not put anything beside it (``immutable``)."""
    log, index = _log_of(file), file.with_name(f"{file.name}-shm")
    still = "" if log is not None else "&immutable=1"
    by_copy = log is not None and not index.exists() and not _may_write_beside(file)
    return Opening(f"file:{quote(str(file))}?mode=ro{still}", by_copy)


def _may_write_beside(file: Path) -> bool:
    return os.access(file.parent, os.W_OK | os.X_OK)


def _log_of(file: Path) -> Path | None:
    """The log of changes that are not in the file yet, if there are any."""
    for one in _beside(file):
        if not one.name.endswith("-shm") and one.exists() and one.stat().st_size:
            return one
    return None


def _beside(file: Path) -> list[Path]:
    return [file.with_name(file.name + end) for end in BESIDE]


def _make(file: Path) -> None:
    """Make a store without tables that has its head; if another program makes one at the same time, that one stays."""
    with part_beside(file) as (_opened, part):
        with closing(sqlite3.connect(part, isolation_level=None)) as connection:
            connection.execute(f"PRAGMA application_id={APPLICATION_ID}")
            connection.execute("PRAGMA journal_mode=WAL")
        try:
            file.hardlink_to(part)
        except FileExistsError:
            return
        except OSError:  # a file system without hard links
            part.rename(file)


def _in_use(file: Path) -> bool:
    """Whether another program has a store open: each holds a lock on these bytes for as long as it has (POSIX only)."""
    if os.name != "posix" or not file.is_file():
        return False
    import fcntl

    with file.open("rb+") as opened:
        try:
            fcntl.lockf(opened, fcntl.LOCK_EX | fcntl.LOCK_NB, LOCKED_BYTES, FIRST_LOCKED)
        except BlockingIOError:
            return True
    return False


def _of_its_own(file: Path) -> str:
    """What to paste so that the store gets a file of its own beside another."""
    number = 2
    while (own := file.absolute().with_name(f"packed-lunch-{number}.sqlite3")).exists():
        number += 1
    return f"export {ADDRESS}={shlex.quote(f'sqlite:///{own}')}"


def _to_read(file: Path) -> str:
    """What to paste so that this user may read a file."""
    quoted = shlex.quote(str(file.absolute()))
    if file.stat().st_uid == os.geteuid():
        return f"chmod u+rw {quoted}"
    return f'sudo chown "$(id -un)" {quoted}'


def _fault(file: Path, problem: Message) -> StoreFault:
    return StoreFault(pointer="", value=str(file), problem=problem)
