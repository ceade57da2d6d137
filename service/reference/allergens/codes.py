"""Codes of other systems for allergens (SNOMED CT, UNII, GS1), read and written in lists that other programs know."""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import NamedTuple

from service.domain.errors import ReferenceFault
from service.reference.allergens.models import CodesFile
from service.reference.allergens.vocabulary import FOLDER, vocabulary
from service.reference.files import data_path, read_toml


class Code(NamedTuple):
    """A code of a system, with the system's address and the version in which it was read, and where it was read."""

    system: str
    code: str
    display: str
    version: str | None
    source: str
    status: str


class AllergenCodes(NamedTuple):
    """``meant``: (system, code) -> the allergens it means. ``written``: allergen -> the codes it is written with."""

    meant: Mapping[tuple[str, str], tuple[str, ...]]
    written: Mapping[str, Sequence[Code]]
    systems: Sequence[str]


@lru_cache(maxsize=1)
def allergen_codes() -> AllergenCodes:
    """All codes; raises ``ReferenceFault`` for one that means an allergen that is not known."""
    file = read_toml(data_path(f"{FOLDER}/codes.toml"), CodesFile)
    words = vocabulary()
    systems = {row.id: row for row in file.system}
    meant: dict[tuple[str, str], tuple[str, ...]] = {}
    written: dict[str, list[Code]] = {id_: [] for id_ in words.allergens}
    for row in file.code:
        system = systems[row.system]
        meant[(system.uri, row.code)] = row.allergens
        for allergen in row.allergens:
            if allergen not in words.allergens:
                raise ReferenceFault(
                    pointer=f"codes.toml#/{row.code}",
                    value=allergen,
                    problem="is not an allergen",
                    remedy="Give an id of vocabulary.toml.",
                )
            if row.written:
                source, status = row.source or file.source, row.status or file.status
                written[allergen].append(Code(system.uri, row.code, row.display, system.version, source, status))
    gs1 = systems["gs1"].uri
    for known in words.allergens.values():
        if known.gs1_code is not None:
            meant[(gs1, known.gs1_code)] = (known.id,)
            written[known.id].append(Code(gs1, known.gs1_code, known.name, None, known.source, known.status))
    return AllergenCodes(meant, written, tuple(row.uri for row in file.system))
