"""The household store as the edges use it: opened by its address, backed up, restored."""

from pathlib import Path

from service.domain.errors import BadInput
from service.domain.messages import message
from service.jobs.household.access.households import keeps_records
from service.store.backup import Backup as Backup  # noqa: PLC0414 - what the edges are given
from service.store.backup import restore_backup, write_backup
from service.store.database import Store as Store  # noqa: PLC0414 - the edges hand it on
from service.store.database import default_url
from service.store.migrate import open_store
from service.store.wiping import wipe, wipe_file


def open_household_store(url: str = "") -> Store:
    """The store at an address, its tables brought to this version; without one, the file in the user's own folder.

    ``BadInput`` for an address that is none; ``StoreFault`` if it cannot be opened, or a newer version wrote it.
    """
    return open_store(url or default_url())


def close_household_store(store: Store) -> None:
    """Close a store, with nothing left behind in it of what was deleted while it was open."""
    wipe_file(store)
    store.close()


def back_up(store: Store, file: str) -> Backup:
    """Write all that the store holds to a file, while it is in use."""
    return write_backup(store, Path(file))


def restore(store: Store, file: str, *, replace: bool) -> Backup:
    """Put a backup in the place of all that the store holds; ``BadInput`` without ``replace`` where it keeps records."""
    if not replace and keeps_records(store):
        raise BadInput(
            pointer="--replace",
            value="",
            problem=message("fault.would-be-replaced"),
        )
    put = restore_backup(store, Path(file))
    wipe(store)
    return put
