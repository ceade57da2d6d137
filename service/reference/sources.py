"""Where the figures of reference_data come from: reference_data/sources.toml."""

from datetime import date
from functools import lru_cache

from service.reference.files import FileModel, data_path, read_toml


class Source(FileModel):
    """A publication. ``edition``, ``link`` and ``note`` may be empty; ``read_on``: the day on which the copy was read."""

    title: str
    publisher: str
    edition: str
    link: str
    licence: str
    read_on: date | None = None
    note: str = ""


class SourcesFile(FileModel):
    """The whole file: each source by its key."""

    sources: dict[str, Source]


@lru_cache(maxsize=1)
def sources() -> list[Source]:
    """All sources, in the order of the file."""
    return list(read_toml(data_path("sources.toml"), SourcesFile).sources.values())
