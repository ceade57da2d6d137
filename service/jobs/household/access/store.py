"""The household store as the edges use it: opened by its address, backed up, put aside."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import service.jobs.household.kinds  # noqa: F401 - bodies are read whole from here on
from service.domain.errors import StoreFault
from service.store.backup import write_backup
from service.store.backup_file import Backup as Backup  # noqa: PLC0414 - what the edges are given
from service.store.database import Store as Store  # noqa: PLC0414 - the edges hand it on
from service.store.database import default_url
from service.store.files.sqlite_file import damaged, set_aside
from service.store.migrate import open_store
from service.store.wiping import wipe_file


def open_household_store(url: str = "") -> Store:
    """The store at an address, its tables brought to this version; without one, the file in the user's own folder.

    ``BadInput`` for an address that is none; ``StoreFault`` if it cannot be opened, or a newer version wrote it.
    """
    return open_store(url or default_url())


def close_household_store(store: Store) -> None:
    """Close a store, with nothing left behind in it of what was deleted while it was open."""
    wipe_file(store)
    store.close()


@contextmanager
def naming_the_file(store: Store) -> Iterator[None]:
    """Say of a damaged store in which file it is and how to put that aside, to whoever sits at its computer."""
    try:
        yield
    except StoreFault as fault:
        if store.file is not None and fault.code == "store-damaged":
            raise damaged(store.file) from fault
        raise


def put_aside(file: str) -> str:
    """Give a store's file another name; that name. ``BadInput`` where it is in use or cannot be renamed."""
    return str(set_aside(Path(file)))


def back_up(store: Store, file: str) -> Backup:
    """Write all that the store holds to a file, while it is in use."""
    return write_backup(store, Path(file))
