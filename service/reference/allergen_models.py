"""The shape of the allergen files: vocabulary, legal lists, label words, false friends, phrases, spellings."""

from datetime import date
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, model_validator

from service.reference.files import DataStatus, FileModel

Id = Annotated[str, Field(pattern=r"^[a-z][a-z_]*$")]
Phrase = Annotated[str, Field(pattern=r"^[a-z0-9&][a-z0-9& ]*$")]
"""Lower case, plain letters, single spaces: as the reader folds it."""


def _split(value: object) -> object:
    """Cut a list written as text, with commas between."""
    return tuple(part.strip() for part in value.split(",")) if isinstance(value, str) else value


Ids = Annotated[tuple[Id, ...], BeforeValidator(_split)]
"""Allergen ids with commas between."""
Names = Annotated[tuple[str, ...], BeforeValidator(_split)]
"""Everyday names with commas between."""
Phrases = Annotated[tuple[Phrase, ...], BeforeValidator(_split)]
"""Phrases with commas between; read several times faster than an array of strings."""
Patterns = Annotated[tuple[str, ...], BeforeValidator(_split)]
"""The same for phrases with alternatives, ``(a|b)`` and ``(a|b)?``."""


class AllergenRow(FileModel):
    """One allergen; ``source`` and ``status`` are those of the file unless given."""

    id: Id
    name: str
    gs1: Annotated[str, Field(pattern=r"^[A-Z]{2,3}$")] | None = None
    members: Ids = ()
    aliases: Names = ()
    source: str | None = None
    status: DataStatus | None = None


class SeveralRow(FileModel):
    """Names that stand for more than one allergen."""

    names: Names
    allergens: Ids
    source: str
    status: DataStatus


class VocabularyFile(FileModel):
    """vocabulary.toml"""

    source: str
    status: DataStatus
    allergen: tuple[AllergenRow, ...]
    several: tuple[SeveralRow, ...]


class LegalFileRow(FileModel):
    """One dated row of a legal list, or ``same_as`` another jurisdiction's rows."""

    jurisdiction: Annotated[str, Field(pattern=r"^[A-Z]{2}$")]
    from_: date = Field(alias="from")
    until: date | None = None
    duty: Literal["mandatory", "recommended"]
    allergens: Ids = ()
    species: Ids = ()
    same_as: Annotated[str, Field(pattern=r"^[A-Z]{2}$")] | None = None
    pending: Literal["mandatory", "recommended"] | None = None
    law: str
    source: str
    status: DataStatus
    note: str = ""

    @model_validator(mode="after")
    def _says_what(self) -> "LegalFileRow":
        if bool(self.allergens) == bool(self.same_as):
            raise ValueError("give either allergens or same_as")
        if self.until is not None and self.until < self.from_:
            raise ValueError("until lies before from")
        return self


class LegalListsFile(FileModel):
    """legal_lists.toml"""

    row: tuple[LegalFileRow, ...]


class WordsRow(FileModel):
    """Words that mean, or may stand for, the same allergens."""

    allergens: Annotated[Ids, Field(min_length=1)]
    tier: Literal["contains", "check_label"]
    words: Annotated[Phrases, Field(min_length=1)]
    reason: str = ""
    use: Literal["plain", "unqualified", "grain_word", "oil_source", "additive_number"] = "plain"
    answered_by: Literal["nothing", "source", "ingredients"] = "nothing"
    source: str
    status: DataStatus

    @model_validator(mode="after")
    def _check_has_reason(self) -> "WordsRow":
        if self.tier == "check_label" and not self.reason:
            raise ValueError("a check_label row says why: give reason")
        return self


class LabelWordsFile(FileModel):
    """label_words.toml"""

    words: tuple[WordsRow, ...]


class FalseFriendRow(FileModel):
    """Words that look like an allergen and are not."""

    looks_like: Annotated[Ids, Field(min_length=1)]
    before: Phrases = ()
    words: Annotated[Phrases, Field(min_length=1)]
    allergens: Ids = ()
    check: Ids = ()
    reason: str = ""
    source: str
    status: DataStatus

    @model_validator(mode="after")
    def _check_has_reason(self) -> "FalseFriendRow":
        if self.check and not self.reason:
            raise ValueError("a row with check says why: give reason")
        return self


class PlainRow(FileModel):
    """Words of their own that differ from an allergen's word by one letter."""

    words: Phrases
    source: str
    status: DataStatus


class FalseFriendsFile(FileModel):
    """false_friends.toml"""

    false_friend: tuple[FalseFriendRow, ...]
    plain: tuple[PlainRow, ...]


class StatementsFile(FileModel):
    """statements.toml"""

    source: str
    status: DataStatus
    precaution: Patterns
    declaration: Phrases
    heading: Phrases
    negation: Phrases
    not_negation: Phrases
    claims: Phrases
    neutral_claims: Phrases
    unqualifying: Phrases
    sources_named: Phrases
    other_grains: Phrases
    oil_words: Phrases
    oil_list: Phrases
    additive_classes: Phrases


class SpellingWords(FileModel):
    """A list of words: those run together with allergen words, those put together when broken."""

    words: Phrases


class SpellingsFile(FileModel):
    """spellings.toml"""

    source: str
    status: DataStatus
    misspellings: dict[Phrase, Phrases]
    broken: SpellingWords
    companions: SpellingWords
