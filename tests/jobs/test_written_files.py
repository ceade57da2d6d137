"""Promise: a file that a command writes is whole or as it was, and for its owner only."""

import os
import stat
from pathlib import Path

import pytest

from service.domain.errors import BadInput
from service.jobs.files import write_whole
from service.store.files.whole_file import whole_file
from tests.refused import refused


def test_a_file_is_for_its_owner_only(tmp_path: Path) -> None:
    """Whatever the umask, new or in the place of another; nothing is left next to it."""
    before = os.umask(0)
    try:
        for text in ("one", "zwei: Møller\r\n"):
            write_whole(str(tmp_path / "page.html"), text, "--page")
            assert (tmp_path / "page.html").read_bytes() == text.encode()
            assert stat.S_IMODE((tmp_path / "page.html").stat().st_mode) == 0o600
    finally:
        os.umask(before)
    assert [one.name for one in tmp_path.iterdir()] == ["page.html"]


def test_a_write_that_breaks_off_leaves_what_was_there(tmp_path: Path) -> None:
    """Half way through, by any fault."""
    file = tmp_path / "table.csv"
    write_whole(str(file), "before", "--csv")

    def break_off() -> None:
        with whole_file(file) as out:
            out.write(b"half")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        break_off()
    assert file.read_text() == "before"
    assert list(tmp_path.iterdir()) == [file]


def test_the_option_is_named_where_a_file_cannot_be_written(tmp_path: Path) -> None:
    """A folder that is not there; a folder in the file's place, which stays as it was."""
    (tmp_path / "folder").mkdir()
    for place in ("none/page.html", "folder"):
        with refused(BadInput, match="cannot be written") as told:
            write_whole(str(tmp_path / place), "x", "--page")
        assert told.value.pointer == "--page"
    assert (tmp_path / "folder").is_dir()
