"""A folder of our own for the time of some work: for its owner only, and gone afterwards even if the work is killed."""

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from service.store.files.whole_file import OWNER_ONLY, lock_if_free

BEGINS = "packed-lunch-"
LOCK = ".in-use"
"""The file in it that is locked while the work goes on."""


@contextmanager
def working_folder() -> Iterator[Path]:
    """A new folder (mode 0700) in the system's place for such; removed in the end. Those of killed runs are removed first."""
    _remove_leftovers(Path(tempfile.gettempdir()))
    folder = Path(tempfile.mkdtemp(prefix=BEGINS))
    opened = os.open(folder / LOCK, os.O_RDWR | os.O_CREAT | os.O_EXCL, OWNER_ONLY)
    try:
        lock_if_free(opened)
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)
        os.close(opened)


def _remove_leftovers(place: Path) -> None:
    """Remove this user's folders of that kind whose lock nobody holds."""
    for lock in place.glob(f"{BEGINS}*/{LOCK}"):
        try:
            if lock.parent.is_symlink() or lock.parent.stat().st_uid != os.geteuid():
                continue
            opened = os.open(lock, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0))
        except OSError:
            continue
        try:
            if lock_if_free(opened):
                shutil.rmtree(lock.parent, ignore_errors=True)
        finally:
            os.close(opened)
