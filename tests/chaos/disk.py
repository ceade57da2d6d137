"""A small disk of its own for the store, which can be filled: a tmpfs that nobody else sees and that is gone with this process."""

import ctypes
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

NEW_NAMESPACE = 0x00020000
"""CLONE_NEWNS (unshare(2)): mounts from now on are seen by this process and those it starts, and end with them."""
PIECE = 1 << 20


class Disk:
    """A folder; ``can_be_filled``: whether it is a disk of its own."""

    def __init__(self, folder: Path, can_be_filled: bool) -> None:
        self.folder, self.can_be_filled = folder, can_be_filled
        self._ballast = folder / "ballast"

    def fill(self, left: int) -> None:
        """Take all room but so many bytes."""
        with self._ballast.open("wb", buffering=0) as file:
            size = PIECE
            while size >= 4096:
                try:
                    if file.write(b"\x00" * size) < size:
                        size //= 2
                except OSError:
                    size //= 2
            file.truncate(max(0, file.tell() - left))

    def free(self) -> None:
        """Give the room back."""
        self._ballast.unlink(missing_ok=True)


@contextmanager
def small_disk(megabytes: int) -> Iterator[Disk]:
    """A disk of its own where this process may mount one; otherwise a plain folder, which is never filled."""
    folder = Path(tempfile.mkdtemp(prefix="packed-lunch-chaos-"))
    folder.chmod(0o755)
    mounted = _mounted(folder, megabytes)
    try:
        yield Disk(folder, mounted)
    finally:
        if mounted:
            subprocess.run(["umount", "--lazy", str(folder)], check=False)
            folder.rmdir()
        else:
            import shutil

            shutil.rmtree(folder, ignore_errors=True)


def _mounted(folder: Path, megabytes: int) -> bool:
    if sys.platform != "linux" or os.geteuid() != 0:
        return False
    if ctypes.CDLL(None, use_errno=True).unshare(NEW_NAMESPACE) != 0:
        return False
    for command in (
        ["mount", "--make-rprivate", "/"],
        ["mount", "-t", "tmpfs", "-o", f"size={megabytes}m,mode=0755", "tmpfs", str(folder)],
    ):
        if subprocess.run(command, check=False, capture_output=True).returncode != 0:
            return False
    return True
