"""Puts a backup in the place of all that the store holds, after every row of it was looked over."""

from pathlib import Path

from service.domain.errors import BadInput
from service.domain.messages import message
from service.jobs.household.access.households import keeps_records
from service.jobs.household.transfer.restored_rows import look_over_rows
from service.store.backup import Restored as Restored  # noqa: PLC0414 - what the edges are given
from service.store.backup import restore_backup
from service.store.database import Store
from service.store.wiping import wipe


def restore(store: Store, file: str, *, replace: bool, leave_out: bool = False) -> Restored:
    """Put a backup in the place of all that the store holds; ``BadInput`` without ``replace`` where it keeps records.

    ``leave_out``: rows that cannot be used are left out and told; otherwise such a backup is refused.
    """
    if not replace and keeps_records(store):
        raise BadInput(
            pointer="--replace",
            value="",
            problem=message("fault.would-be-replaced"),
        )
    restored = restore_backup(store, Path(file), look_over_rows, leave_out=leave_out)
    wipe(store)
    return restored
