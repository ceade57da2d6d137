"""Reads files that a person names: plain files only and never more than so many bytes, so that nothing waits or fills the memory."""

import os
import stat
from pathlib import Path
from typing import BinaryIO

from service.domain.errors import BadInput
from service.domain.messages import message


def open_plain(path: Path, pointer: str = "FILE") -> BinaryIO:
    """Open a plain file for reading; ``BadInput`` for a folder, pipe, socket or device, ``OSError`` where there is none.

    A pipe is not waited for: nobody may ever write into it.
    """
    opened = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0))
    try:
        if not stat.S_ISREG(os.fstat(opened).st_mode):
            raise BadInput(pointer=pointer, value=str(path), problem=message("fault.no-plain-file"))
        return os.fdopen(opened, "rb")
    except BaseException:
        os.close(opened)
        raise


def read_plain(path: Path, most: int, pointer: str = "FILE") -> bytes:
    """The bytes of a plain file; ``BadInput`` for one that holds more than ``most``, or is no plain file."""
    with open_plain(path, pointer) as file:
        content = file.read(most + 1)
    if len(content) > most:
        raise BadInput(
            pointer=pointer, value=str(path), problem=message("fault.file-too-large", megabytes=most // 1_000_000)
        )
    return content
