"""Where the figures of reference_data come from: reference_data/sources.toml."""

from datetime import date
from functools import lru_cache
from typing import Literal

from service.reference.files import FileModel, data_path, read_toml

SourceKind = Literal["us-meals", "us-crediting", "energy", "united-kingdom", "japan", "foods", "allergens", "weeks"]


class Source(FileModel):
    """A publication. ``edition``, ``link`` and ``note`` may be empty; ``read_on``: the day on which the copy was read.

    ``kind``: what its figures are about.
    """

    kind: SourceKind
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
