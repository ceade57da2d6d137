"""Turns the allergen names and legal lists of reference_data into the vocabulary, once.

It is light and may be loaded at every start; the words on labels are loaded by ``label_words``.
"""

from functools import lru_cache

from service.domain.allergens.vocabulary import Allergen, AllergenVocabulary, LegalRow, build_vocabulary
from service.reference.allergens.models import LegalListsFile, OtherNamesFile, VocabularyFile
from service.reference.files import data_path, read_toml

FOLDER = "allergens"


@lru_cache(maxsize=1)
def vocabulary() -> AllergenVocabulary:
    """All allergens with their groups, other names, GS1 codes and legal lists; raises ``ReferenceFault``."""
    file = read_toml(data_path(f"{FOLDER}/vocabulary.toml"), VocabularyFile)
    allergens = [
        Allergen(
            id=row.id,
            name=row.name,
            gs1_code=row.gs1,
            members=row.members,
            aliases=row.aliases,
            apart=row.apart,
            broad=row.broad,
            content_of=row.content_of,
            besides=row.besides,
            source=row.source or file.source,
            status=row.status or file.status,
        )
        for row in file.allergen
    ]
    several = [(row.names, row.allergens) for row in file.several]
    mixed = {row.code: row.codes for row in file.mixed_gs1}
    return build_vocabulary(allergens, several, _legal_rows(), mixed, _spanish_names())


def _spanish_names() -> list[tuple[tuple[str, ...], tuple[str, ...]]]:
    """What allergens are called in Spanish, each with the ids meant."""
    file = read_toml(data_path(f"{FOLDER}/spanish_names.toml"), OtherNamesFile)
    return [(row.names, row.allergens) for row in file.several] + [(names, (id_,)) for id_, names in file.names.items()]


def _legal_rows() -> list[LegalRow]:
    """The rows of all legal lists; ``same_as`` takes over another jurisdiction's rows."""
    file = read_toml(data_path(f"{FOLDER}/legal_lists.toml"), LegalListsFile)
    rows = [LegalRow(**row.model_dump(exclude={"same_as"})) for row in file.row if row.same_as is None]
    taken_over = [
        other._replace(jurisdiction=row.jurisdiction)
        for row in file.row
        if row.same_as is not None
        for other in rows
        if other.jurisdiction == row.same_as
    ]
    return rows + taken_over
