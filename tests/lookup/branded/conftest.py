"""An index that was built from invented entries."""

from collections.abc import Callable
from pathlib import Path

import pytest

from service.lookup.branded.build import build_index
from service.lookup.branded.index import BrandedIndex
from tests.lookup.branded.make_archive import Entry, write_archive

Indexed = Callable[..., BrandedIndex]


@pytest.fixture
def indexed(tmp_path: Path) -> Indexed:
    """Builds an index from entries and opens it."""

    def build(*entries: Entry) -> BrandedIndex:
        to = tmp_path / "index" / "foods.sqlite3"
        build_index(write_archive(tmp_path / "archive.zip", entries), to)
        return BrandedIndex(to)

    return build
