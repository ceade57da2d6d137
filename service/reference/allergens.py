"""Turns the allergen files of reference_data into the vocabulary and the label words, each once.

``vocabulary`` is light and may be loaded at every start; ``label_words`` is loaded with the first label.
"""

from functools import lru_cache

from service.domain.allergens import Allergen, AllergenVocabulary, LegalRow, build_vocabulary
from service.domain.label_words import (
    FalseFriend,
    LabelWords,
    Spellings,
    StatementPhrases,
    WordGroup,
    compile_label_words,
)
from service.reference.allergen_models import (
    FalseFriendsFile,
    LabelWordsFile,
    LegalListsFile,
    SpellingsFile,
    StatementsFile,
    VocabularyFile,
)
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
            source=row.source or file.source,
            status=row.status or file.status,
        )
        for row in file.allergen
    ]
    several = [(row.names, row.allergens) for row in file.several]
    return build_vocabulary(allergens, several, _legal_rows())


@lru_cache(maxsize=1)
def label_words() -> LabelWords:
    """The words that ``read_label`` looks for; raises ``ReferenceFault``."""
    words = read_toml(data_path(f"{FOLDER}/label_words.toml"), LabelWordsFile)
    friends = read_toml(data_path(f"{FOLDER}/false_friends.toml"), FalseFriendsFile)
    phrases = read_toml(data_path(f"{FOLDER}/statements.toml"), StatementsFile)
    spellings = read_toml(data_path(f"{FOLDER}/spellings.toml"), SpellingsFile)
    names = vocabulary().allergens
    return compile_label_words(
        groups=[
            WordGroup(
                allergens=row.allergens,
                tier=row.tier,
                words=row.words,
                reason=row.reason or f"A word for {' and '.join(names[one].name for one in row.allergens)}.",
                use=row.use,
                answered_by=row.answered_by,
            )
            for row in words.words
        ],
        false_friends=[
            FalseFriend(
                looks_like=row.looks_like,
                words=row.words,
                before=row.before,
                allergens=row.allergens,
                check=row.check,
                reason=row.reason or " ".join(f"A word for {names[one].name}." for one in row.allergens),
            )
            for row in friends.false_friend
        ],
        statements=StatementPhrases(**phrases.model_dump(exclude={"source", "status"})),
        spellings=Spellings(
            misspellings=spellings.misspellings,
            broken=spellings.broken.words,
            companions=spellings.companions.words,
            plain=tuple(word for row in friends.plain for word in row.words),
        ),
    )


def _legal_rows() -> list[LegalRow]:
    """The rows of all legal lists; ``same_as`` takes over another jurisdiction's rows."""
    file = read_toml(data_path(f"{FOLDER}/legal_lists.toml"), LegalListsFile)
    rows = [
        LegalRow(
            jurisdiction=row.jurisdiction,
            from_=row.from_,
            until=row.until,
            duty=row.duty,
            allergens=row.allergens,
            species=row.species,
            pending=row.pending,
            law=row.law,
            source=row.source,
            status=row.status,
            note=row.note,
        )
        for row in file.row
        if row.same_as is None
    ]
    taken_over = [
        other._replace(jurisdiction=row.jurisdiction)
        for row in file.row
        if row.same_as is not None
        for other in rows
        if other.jurisdiction == row.same_as
    ]
    return rows + taken_over
