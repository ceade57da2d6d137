"""Files that a command writes, whole or not at all and for their owner only, since they say what children eat; and those it reads."""

from pathlib import Path

from service.store.files.plain_file import read_plain as read_plain  # noqa: PLC0414 - what the edges are given
from service.store.files.whole_file import whole_file
from service.store.files.working_folder import working_folder as working_folder  # noqa: PLC0414 - what the edges are given


def write_whole(file: str, content: str | bytes, option: str) -> None:
    """Write a file whole or not at all, a text as UTF-8; ``BadInput`` (of the command's ``option``) where it cannot be written."""
    with whole_file(Path(file), option) as out:
        out.write(content.encode() if isinstance(content, str) else content)
