"""Reads the CSV files of an archive of FoodData Central from inside the zip, a block of rows at a time.

Columns are found by the names in the first line, and a release may have more of them than are read. Files may lie in a
folder of the zip. Every fault names the file and says in one sentence what is wrong with it.
"""

import csv
import io
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from typing import IO, TYPE_CHECKING, Final

from service.domain.errors import BadInput
from service.domain.messages import Message, message

if TYPE_CHECKING:
    import pyarrow as pa

BLOCK_BYTES: Final = 2_000_000
"""So much of a file is parsed at a time."""
HAS_PASSWORD: Final = 0x1
"""Bit of a file's flags in a zip (APPNOTE 4.4.4)."""
POINTER: Final = "ARCHIVE"


class FoodArchive:
    """An archive that is open for reading. ``advanced`` is called with each number of bytes read, as they are unpacked."""

    def __init__(self, path: Path, packed: zipfile.ZipFile, advanced: Callable[[int], None]) -> None:
        self.path = path
        self._packed = packed
        self._advanced = advanced
        self._names: dict[str, str] = {}
        for name in sorted(packed.namelist(), key=lambda one: (one.count("/"), one)):
            self._names.setdefault(PurePosixPath(name).name, name)

    def size(self, file: str) -> int:
        """How many bytes a file has when unpacked; ``BadInput`` where the archive lacks it."""
        return self._packed.getinfo(self._name(file)).file_size

    def blocks(self, file: str, columns: Mapping[str, "pa.DataType"]) -> Iterator["pa.RecordBatch"]:
        """The named columns of a file, block by block, in the types given; an empty text stays one, a missing number is null.

        Raises ``BadInput`` for a file or a column that is not there, for a row that cannot be read, and for a damaged file.
        """
        from pyarrow import ArrowInvalid
        from pyarrow.csv import ConvertOptions, ParseOptions, ReadOptions, open_csv

        self._check_columns(file, columns)
        with self._opened(file) as unpacked:
            try:
                with open_csv(
                    _Counted(unpacked, self._advanced),
                    ReadOptions(block_size=BLOCK_BYTES),
                    ParseOptions(newlines_in_values=True),
                    ConvertOptions(column_types=dict(columns), include_columns=list(columns)),
                ) as reader:
                    yield from reader
            except ArrowInvalid as fault:
                reason = str(fault).splitlines()[0]
                raise self._fault(message("fault.archive-bad-row", file=file, reason=reason)) from fault

    def _name(self, file: str) -> str:
        if file not in self._names:
            raise self._fault(message("fault.archive-lacks-file", file=file))
        return self._names[file]

    def _check_columns(self, file: str, columns: Mapping[str, "pa.DataType"]) -> None:
        with self._opened(file) as unpacked:
            first = next(csv.reader(io.TextIOWrapper(unpacked, encoding="utf-8-sig", errors="replace")), [])
        missing = [name for name in columns if name not in first]
        if missing:
            raise self._fault(message("fault.archive-lacks-columns", file=file, columns=missing))

    @contextmanager
    def _opened(self, file: str) -> Iterator[IO[bytes]]:
        info = self._packed.getinfo(self._name(file))
        if info.flag_bits & HAS_PASSWORD:
            raise self._fault(message("fault.archive-not-unpacked", file=file))
        try:
            with self._packed.open(info) as unpacked:
                yield unpacked
        except (zipfile.BadZipFile, zlib.error, EOFError) as fault:
            raise self._fault(message("fault.archive-file-damaged", file=file)) from fault
        except NotImplementedError as fault:
            raise self._fault(message("fault.archive-not-unpacked", file=file)) from fault
        except OSError as fault:
            raise self._fault(message("fault.archive-not-read", reason=fault.strerror)) from fault

    def _fault(self, problem: Message) -> BadInput:
        return archive_fault(self.path, problem)


class _Counted(io.RawIOBase):
    """A file that says how many bytes were read of it."""

    def __init__(self, file: IO[bytes], advanced: Callable[[int], None]) -> None:
        self._file = file
        self._advanced = advanced

    def readable(self) -> bool:
        return True

    def read(self, size: int = -1) -> bytes:
        found = self._file.read(size)
        self._advanced(len(found))
        return found


@contextmanager
def opened_archive(path: Path, advanced: Callable[[int], None]) -> Iterator[FoodArchive]:
    """The archive at a path; ``BadInput`` where there is no file, or one that is not a whole zip."""
    if not path.is_file():
        raise archive_fault(path, message("fault.no-archive"))
    try:
        packed = zipfile.ZipFile(path)
    except zipfile.BadZipFile as fault:
        raise archive_fault(path, message("fault.archive-not-whole")) from fault
    except OSError as fault:
        raise archive_fault(path, message("fault.archive-not-read", reason=fault.strerror)) from fault
    with packed:
        yield FoodArchive(path, packed, advanced)


def archive_fault(path: Path, problem: Message) -> BadInput:
    """A fault of the archive at a path."""
    return BadInput(pointer=POINTER, value=str(path), problem=problem)
