"""A small index of branded foods for tests and examples, built from an archive in the real format; every food is invented."""

import atexit
import shutil
import tempfile
from functools import lru_cache
from pathlib import Path

from service.lookup.branded.build import build_index
from tests.lookup.branded.make_archive import Entry, write_archive

BISCUITS = "00012345678905"
"""The code of the oat biscuits; its check digit is right."""
NO_LIST = "00074312000058"
"""A code whose entry has no list of ingredients."""

ENTRIES = (
    Entry(101, "012345678905", modified="2023-01-01", available="2023-01-01", ingredients="OATS, SUGAR, SALT."),
    Entry(102, "12345678905", modified="2025-04-01", available="2025-03-01"),
    Entry(201, NO_LIST, description="FRUIT SQUASH", ingredients="N/A", serving="240", unit="ml"),
)


def build_invented(folder: Path) -> Path:
    """Build the index in a folder; its path."""
    built = folder / "branded-foods.sqlite3"
    build_index(write_archive(folder / "archive.zip", ENTRIES), built)
    return built


@lru_cache(maxsize=1)
def invented_index() -> Path:
    """The index, built once for this process and removed with it."""
    folder = Path(tempfile.mkdtemp(prefix="branded-foods-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return build_invented(folder)
