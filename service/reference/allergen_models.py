"""The shape of the allergen files: vocabulary, legal lists, label words, false friends, phrases, spellings."""

from datetime import date
from typing import Annotated, Literal

from pydantic import Field, model_validator

from service.reference.files import FileModel

DataStatus = Literal["read", "second_hand", "memory", "estimated", "proposed"]
Id = Annotated[str, Field(pattern=r"^[a-z][a-z_]*$")]
Phrase = Annotated[str, Field(pattern=r"^[a-z0-9&][a-z0-9& ]*$")]
"""Lower case, plain letters, single spaces: as the reader folds it."""


class AllergenRow(FileModel):
    """One allergen; ``source`` and ``status`` are those of the file unless given."""

    id: Id
    name: str
    gs1: Annotated[str, Field(pattern=r"^[A-Z]{2,3}$")] | None = None
    members: tuple[Id, ...] = ()
    aliases: tuple[str, ...] = ()
    source: str | None = None
    status: DataStatus | None = None


class SeveralRow(FileModel):
    """Names that stand for more than one allergen."""

    names: tuple[str, ...]
    allergens: tuple[Id, ...]
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
    allergens: tuple[Id, ...] = ()
    species: tuple[Id, ...] = ()
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

    allergens: tuple[Id, ...] = Field(min_length=1)
    tier: Literal["contains", "check_label"]
    words: tuple[Phrase, ...] = Field(min_length=1)
    reason: str = ""
    use: Literal["plain", "unqualified", "oil_source", "additive_number"] = "plain"
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

    looks_like: tuple[Id, ...] = Field(min_length=1)
    before: tuple[Phrase, ...] = ()
    words: tuple[Phrase, ...] = Field(min_length=1)
    allergens: tuple[Id, ...] = ()
    check: tuple[Id, ...] = ()
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

    words: tuple[Phrase, ...]
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
    precaution: tuple[str, ...]
    declaration: tuple[Phrase, ...]
    heading: tuple[Phrase, ...]
    negation: tuple[Phrase, ...]
    not_negation: tuple[Phrase, ...]
    claims: tuple[Phrase, ...]
    neutral_claims: tuple[Phrase, ...]
    unqualifying: tuple[Phrase, ...]
    sources_named: tuple[Phrase, ...]
    oil_words: tuple[Phrase, ...]
    oil_list: tuple[Phrase, ...]
    additive_classes: tuple[Phrase, ...]


class CompanionsTable(FileModel):
    """Everyday words that are run together with allergen words."""

    words: tuple[Phrase, ...]


class SpellingsFile(FileModel):
    """spellings.toml"""

    source: str
    status: DataStatus
    misspellings: dict[Phrase, tuple[Phrase, ...]]
    companions: CompanionsTable
