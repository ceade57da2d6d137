"""Promise: a file that a command writes is there whole, or as it was before."""

from pathlib import Path

import pytest

from service.cli.request_files import write_whole
from service.domain.errors import BadInput


def test_a_file_is_replaced_whole(tmp_path: Path) -> None:
    """Nothing is left next to it, and lines end as given."""
    file = tmp_path / "cards.html"
    file.write_text("before")
    write_whole(str(file), "one\r\ntwo\n", "--cards")
    assert file.read_bytes() == b"one\r\ntwo\n"
    assert list(tmp_path.iterdir()) == [file]


def test_what_cannot_be_written_names_its_option(tmp_path: Path) -> None:
    """A folder in its place: the folder stays as it was."""
    (tmp_path / "cards.html").mkdir()
    with pytest.raises(BadInput) as refused:
        write_whole(str(tmp_path / "cards.html"), "text", "--cards")
    assert refused.value.pointer == "--cards"
    assert (tmp_path / "cards.html").is_dir()
