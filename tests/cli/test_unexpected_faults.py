"""Promise: a fault of ours on the command line is one sentence and lines of code: nothing that was stored or typed is shown."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from sqlalchemy import text

from service.store.migrate import open_store
from tests.served import GENEROUS, ROOT

PRIVATE = "Zebulonia"


def broken_store(tmp_path: Path) -> str:
    """A store that refuses the statement that a household is made with."""
    url = f"sqlite:///{tmp_path / 'store.sqlite3'}"
    store = open_store(url)
    with store.writing() as connection:
        connection.execute(text("CREATE TRIGGER no BEFORE INSERT ON households BEGIN SELECT RAISE(ABORT, 'no'); END"))
    store.close()
    return url


@pytest.mark.parametrize("tracebacks", ["false", "true"])
def test_the_last_resort(tmp_path: Path, tracebacks: str) -> None:
    """Exit code 70; the whole traceback only with the switch, and values of statements not even then."""
    done = subprocess.run(
        [sys.executable, "-m", "service", "household", "make", "--name", PRIVATE],
        cwd=ROOT, env={**os.environ, "PACKED_LUNCH_DATABASE_URL": broken_store(tmp_path), "PACKED_LUNCH_TRACEBACKS": tracebacks},
        capture_output=True, text=True, check=False, timeout=GENEROUS,
    )  # fmt: skip
    assert PRIVATE not in done.stdout + done.stderr
    assert done.stdout == ""
    first, second, *places = done.stderr.splitlines()
    if tracebacks == "true":
        assert first.startswith("Traceback")
        assert "SQL parameters hidden due to hide_parameters=True" in done.stderr
        return
    assert done.returncode == 70
    assert first.startswith("The command failed through a fault in this program")
    assert "PACKED_LUNCH_TRACEBACKS=true" in first
    assert second == "IntegrityError"
    assert all(".py:" in place and " in " in place for place in places)
    assert any("household_make" in place for place in places)
