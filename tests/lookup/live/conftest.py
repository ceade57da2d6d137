"""The stub and a source that asks it."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from service.lookup.live.source import LiveSource
from tests.lookup.live.stub import KEY, Stub, stub_server


@pytest.fixture
def stub() -> Iterator[Stub]:
    with stub_server() as served:
        yield served


@pytest.fixture
def cache(tmp_path: Path) -> Path:
    return tmp_path / "kept" / "live.sqlite3"


@pytest.fixture
def source(stub: Stub, cache: Path) -> LiveSource:
    return LiveSource(KEY, stub.url, cache, seconds=2)
