"""Unpacks a zip file that somebody sent: no more bytes than are allowed, whatever it says of itself, and only files that are wanted."""

import lzma
import struct
import zipfile
import zlib
from collections.abc import Callable
from typing import BinaryIO

from service.domain.errors import BadInput
from service.domain.messages import message

MOST_FILES = 20_000
"""In a zip: the files of an export, and a photograph for each packet."""
MOST_PACKED = 200
"""Times that a file may grow when it is unpacked: an export of thousands of lunches that are alike grows sixty-fold."""
SMALL = 10_000_000
"""Bytes up to which it may grow more."""
PACKINGS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
AT_ONCE = 1 << 20
LONGEST_ENTRY = 300
"""Bytes of a file in the list at the end of a zip: 46, its name, and some more (APPNOTE 4.3.12)."""
END, LONGEST_END = b"PK\x05\x06", 22 + (1 << 16)
"""The end of a zip and its longest length: at byte 12 it says how long the list is (APPNOTE 4.3.16)."""
DAMAGED = (
    zipfile.BadZipFile, zlib.error, lzma.LZMAError, struct.error, NotImplementedError, RuntimeError, EOFError, ValueError,
    OverflowError,
)  # fmt: skip
"""What the library raises for zips that are not right."""


def unzipped(name: str, file: BinaryIO, most: int, is_wanted: Callable[[str], bool]) -> dict[str, bytes]:
    """The wanted files of a zip by their names; others are not unpacked.

    ``name``: of the zip, for its faults; ``most``: bytes of all wanted files together. ``BadInput`` for a zip that is damaged,
    has a password or another packing, names a file twice, or holds more files or bytes than are allowed.
    """
    size = file.seek(0, 2)
    try:
        if _size_of_list(file, size) > MOST_FILES * LONGEST_ENTRY:
            raise _too_large(name, most)
        with zipfile.ZipFile(file) as archive:
            return _read(name, archive, size, most, is_wanted)
    except DAMAGED as fault:
        raise _refused(name, fault) from fault


def _size_of_list(file: BinaryIO, size: int) -> int:
    """The bytes of the list of files, as the end of the zip gives them: the library reads the list whole."""
    file.seek(max(0, size - LONGEST_END))
    end = file.read(LONGEST_END)
    place = end.rfind(END)
    if place < 0 or len(end) < place + 16:
        return 0
    return int(struct.unpack_from("<I", end, place + 12)[0])


def _read(
    name: str, archive: zipfile.ZipFile, size: int, most: int, is_wanted: Callable[[str], bool]
) -> dict[str, bytes]:
    if len(archive.infolist()) > MOST_FILES:
        raise _too_large(name, most)
    found: dict[str, bytes] = {}
    left, grown = most, max(SMALL, size * MOST_PACKED)
    for entry in archive.infolist():
        if entry.is_dir() or not is_wanted(entry.filename):
            continue
        if entry.filename in found:
            raise BadInput(pointer=name, value=entry.filename, problem=message("fault.export-file-twice"))
        if entry.compress_type not in PACKINGS:
            raise NotImplementedError("compression type " + str(entry.compress_type))
        content = _unpacked(archive, entry, min(left, grown))
        left, grown = left - len(content), grown - len(content)
        if left < 0:
            raise _too_large(name, most)
        if grown < 0:
            raise BadInput(pointer="FILE", value=name, problem=message("fault.export-packed-too-tightly"))
        found[entry.filename] = content
    return found


def _unpacked(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, most: int) -> bytes:
    """What a file holds; of one that holds more than ``most``, a byte more than that."""
    parts, left = [], most + 1
    with archive.open(entry) as packed:
        while left and (part := packed.read(min(AT_ONCE, left))):
            parts.append(part)
            left -= len(part)
    return b"".join(parts)


def _refused(name: str, fault: Exception) -> BadInput:
    return BadInput(pointer="FILE", value=name, problem=message("fault.export-not-unpacked", reason=str(fault)))


def _too_large(name: str, most: int) -> BadInput:
    return BadInput(pointer="FILE", value=name, problem=message("fault.export-too-large", most=most))
