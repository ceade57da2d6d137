"""Reads a text file of lines in blocks of bounded size, each ending with a whole line."""

from __future__ import annotations

import gzip
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, NamedTuple

from service.domain.errors import BadInput

BLOCK_BYTES = 1 << 24
LONGEST_LINE = 1 << 20
"""A row of a table takes a few hundred bytes; a line longer than this is no row."""

Progress = Callable[[int], None]
"""Told the bytes of the file read so far."""


class LineBlock(NamedTuple):
    """Whole lines of a file: the number of the first, from 1, and how many there are."""

    first_line: int
    content: bytes
    lines: int

    def ends_only_at_lines(self) -> bool:
        """Whether no carriage return stands alone: some readers would end a line there."""
        return self.content.count(b"\r") == self.content.count(b"\r\n") if b"\r" in self.content else True


@contextmanager
def opened(path: Path, progress: Progress) -> Iterator[Callable[[int], bytes]]:
    """Open a file, unpacked if its name ends with ``.gz``; what is given reads up to so many bytes."""
    try:
        with path.open("rb") as raw:
            unpacked: IO[bytes] = gzip.GzipFile(fileobj=raw) if path.suffix == ".gz" else raw  # type: ignore[assignment]

            def read(size: int) -> bytes:
                part = unpacked.read(size)
                progress(raw.tell())
                return part

            yield read
    except OSError as fault:
        problem = "is no gzip file" if isinstance(fault, gzip.BadGzipFile) else f"cannot be read ({fault.strerror})"
        raise unreadable(path, problem) from fault
    except (EOFError, zlib.error) as fault:
        raise unreadable(path, "is a gzip file that is damaged or ends early") from fault


def unreadable(path: Path, problem: str, remedy: str = "Give the path of a readable table.") -> BadInput:
    """The fault of a file that cannot be read."""
    return BadInput(pointer="FILE", value=str(path), problem=problem, remedy=remedy)


def line_blocks(path: Path, progress: Progress, block_bytes: int | None = None) -> Iterator[LineBlock]:
    """The lines of a file in blocks; a last line without an end is given one."""
    size = block_bytes or BLOCK_BYTES
    first_line, rest = 1, b""
    with opened(path, progress) as read:
        while part := read(size):
            end = part.rfind(b"\n") + 1
            if end:
                content = rest + part[:end]
                lines = content.count(b"\n")
                yield LineBlock(first_line, content, lines)
                first_line += lines
                rest = part[end:]
            else:
                rest += part
            _not_too_long(path, first_line, rest)
        if rest:
            yield LineBlock(first_line, rest + b"\n", 1)


def _not_too_long(path: Path, line: int, rest: bytes) -> None:
    if len(rest) > LONGEST_LINE:
        raise unreadable(
            path,
            f"has a line {line} of more than {LONGEST_LINE:,} bytes",
            "Give one row a line: CSV, or NDJSON with one JSON object a line.",
        )
