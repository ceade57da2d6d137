"""Where the figures of reference_data come from: reference_data/sources.toml."""

import re
from datetime import date
from functools import lru_cache
from typing import Literal

from service.reference.files import FileModel, data_path, read_toml

SourceKind = Literal[
    "us-meals", "us-crediting", "energy", "united-kingdom", "japan", "foods", "allergens", "weeks", "yardsticks"
]

KEY = re.compile(r"\b[a-z][a-z0-9]*(-[a-z0-9]+)*\b")


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


def sources() -> list[Source]:
    """All sources, in the order of the file."""
    return list(_by_key().values())


def in_words(place: str) -> str:
    """A place in a source, with the title of the publication instead of its key in the file.

    >>> in_words("cfr-210-10 (c) table 1")
    '7 CFR 210.10, Meal requirements for lunches (c) table 1'
    """
    return KEY.sub(lambda found: known.title if (known := _by_key().get(found[0])) else found[0], place)


@lru_cache(maxsize=1)
def _by_key() -> dict[str, Source]:
    return read_toml(data_path("sources.toml"), SourcesFile).sources
