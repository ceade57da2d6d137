"""Reads a text file of lines in blocks of bounded size, each ending with a whole line."""

from __future__ import annotations

import gzip
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, NamedTuple

from service.domain.errors import BadInput
from service.domain.messages import Message, message

BLOCK_BYTES = 1 << 24
LONGEST_LINE = 1 << 20
"""A row of a table takes a few hundred bytes; a line longer than this is not a row."""
SHOWN_OF_LONG = 200

Progress = Callable[[int], None]
"""Called with the bytes of the file read so far."""


class LineBlock(NamedTuple):
    """Whole lines of a file: the number of the first, from 1, and how many there are.

    ``too_long``: the numbers of lines too long for a row, of which the content holds the beginning only.
    """

    first_line: int
    content: bytes
    lines: int
    too_long: frozenset[int] = frozenset()

    def is_even(self) -> bool:
        """Whether it may be read at once: no line too long, no carriage return alone, which some take for an end."""
        alone = b"\r" in self.content and self.content.count(b"\r") != self.content.count(b"\r\n")
        return not self.too_long and not alone


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
        if isinstance(fault, gzip.BadGzipFile):
            raise unreadable(path, message("fault.table-not-gzip")) from fault
        raise unreadable(path, message("fault.table-unreadable", reason=fault.strerror)) from fault
    except (EOFError, zlib.error) as fault:
        raise unreadable(path, message("fault.table-gzip-damaged")) from fault


def unreadable(path: Path, problem: Message) -> BadInput:
    """The fault of a file that cannot be read."""
    return BadInput(pointer="FILE", value=str(path), problem=problem)


def line_blocks(path: Path, progress: Progress, block_bytes: int | None = None) -> Iterator[LineBlock]:
    """The lines of a file in blocks; a last line without an end is given one.

    Raises ``BadInput`` for a file that is one line too long for a row.
    """
    size = block_bytes or BLOCK_BYTES
    first_line, rest = 1, b""
    with opened(path, progress) as read:
        while part := read(size):
            end = part.rfind(b"\n") + 1
            if end:
                block = _block(first_line, rest + part[:end])
                yield block
                first_line += block.lines
                rest = part[end:]
            else:
                rest = (rest + part)[: LONGEST_LINE + 1]  # more of a line too long for a row is not kept
        if rest:
            block = _block(first_line, rest + b"\n")
            if first_line == 1 and block.too_long:
                raise unreadable(path, too_long(1))
            yield block


def too_long(line: int) -> Message:
    """What is wrong with a line that is too long for a row."""
    return message("fault.line-too-long", line=str(line), most=LONGEST_LINE)


def _block(first_line: int, content: bytes) -> LineBlock:
    """Whole lines as a block; lines too long for a row are cut short."""
    kept: list[bytes] = []
    long_lines: list[int] = []
    line, begin, done = first_line, 0, 0
    while len(content) - begin > LONGEST_LINE + 1:
        end = content.rfind(b"\n", begin, begin + LONGEST_LINE + 1) + 1
        if not end:
            end = content.index(b"\n", begin) + 1
            line += content.count(b"\n", done, begin)
            long_lines.append(line)
            kept += [content[done:begin], content[begin : begin + SHOWN_OF_LONG], b"\n"]
            line, done = line + 1, end
        begin = end
    content = b"".join([*kept, content[done:]]) if kept else content
    return LineBlock(first_line, content, content.count(b"\n"), frozenset(long_lines))
