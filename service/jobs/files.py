"""Files that a command writes: whole or not at all, and for their owner only, since they say what children eat."""

from pathlib import Path

from service.store.whole_file import whole_file


def write_whole(file: str, content: str | bytes, option: str) -> None:
    """Write a file whole or not at all, a text as UTF-8; ``BadInput`` (of the command's ``option``) where it cannot be written."""
    with whole_file(Path(file), option) as out:
        out.write(content.encode() if isinstance(content, str) else content)
