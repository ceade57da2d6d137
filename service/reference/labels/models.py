"""The shape of the files that read labels: label words, false friends, statement phrases, spellings."""

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, model_validator

from service.domain.labels.words import AnsweredBy, UseOfWords
from service.reference.allergens.models import Ids, split_at_commas
from service.reference.files import FileModel, Sourced

Phrase = Annotated[str, Field(pattern=r"^[a-z0-9&\u3040-\u30ff\u4e00-\u9fff][a-z0-9& \u3040-\u30ff\u4e00-\u9fff]*$")]
"""Lower case, plain or Japanese letters, single spaces: as the reader folds it."""
Phrases = Annotated[tuple[Phrase, ...], BeforeValidator(split_at_commas)]
"""Phrases with commas between; read several times faster than an array of strings."""
Patterns = Annotated[tuple[str, ...], BeforeValidator(split_at_commas)]
"""The same for phrases with alternatives, ``(a|b)`` and ``(a|b)?``."""


class WordsRow(Sourced):
    """Words that mean, or may stand for, the same allergens."""

    allergens: Annotated[Ids, Field(min_length=1)]
    tier: Literal["contains", "check_label"]
    words: Annotated[Phrases, Field(min_length=1)]
    reason: str = ""
    use: UseOfWords = "plain"
    answered_by: AnsweredBy = "nothing"
    exact: bool = False
    stems: Phrases = ()
    unless_named: bool = False

    @model_validator(mode="after")
    def _check_has_reason(self) -> "WordsRow":
        if self.tier == "check_label" and not self.reason:
            raise ValueError("a check_label row says why: give reason")
        return self


class LabelWordsFile(FileModel):
    """label_words.toml, label_words_languages.toml, label_words_foods.toml"""

    words: tuple[WordsRow, ...]


class DishRow(FileModel):
    """Dishes and what they are usually made with, besides what other words say."""

    usually: Ids = ()
    names: Phrases = ()
    endings: Phrases = ()

    @model_validator(mode="after")
    def _names_something(self) -> "DishRow":
        if not (self.names or self.endings):
            raise ValueError("a dish row needs names or endings")
        return self


class DishesFile(Sourced):
    """dishes.toml"""

    dish: tuple[DishRow, ...]


class KnownRow(Sourced):
    """Words of one language that ordinary statements are made of."""

    language: Annotated[str, Field(pattern=r"^[a-z]+$")]
    words: Phrases


class KnownWordsFile(FileModel):
    """known_words.toml"""

    food: tuple[KnownRow, ...]
    known: tuple[KnownRow, ...]
    not_food: tuple[KnownRow, ...]


class FalseFriendRow(Sourced):
    """Words that look like an allergen and are not."""

    looks_like: Annotated[Ids, Field(min_length=1)]
    before: Phrases = ()
    words: Annotated[Phrases, Field(min_length=1)]
    allergens: Ids = ()
    check: Ids = ()
    reason: str = ""
    answered_by: Literal["nothing", "source", "ingredients"] = "nothing"

    @model_validator(mode="after")
    def _check_has_reason(self) -> "FalseFriendRow":
        if self.check and not self.reason:
            raise ValueError("a row with check says why: give reason")
        return self


class PlainRow(Sourced):
    """Words of their own that differ from an allergen's word by one letter."""

    words: Phrases


class FalseFriendsFile(FileModel):
    """false_friends.toml"""

    false_friend: tuple[FalseFriendRow, ...]
    plain: tuple[PlainRow, ...]


class ExemptRow(Sourced):
    """Products of cereals that do not count as gluten."""

    cereals: Patterns
    products: Patterns
    before: Patterns = ()


class ExemptFile(FileModel):
    """exempt.toml"""

    exempt: tuple[ExemptRow, ...]


class StatementsFile(Sourced):
    """statements.toml"""

    precaution: Patterns
    caution: Patterns
    afterwards: Patterns
    declaration: Patterns
    heading: Phrases
    negation: Patterns
    not_negation: Patterns
    claims: Phrases
    neutral_claims: Phrases
    unqualifying: Phrases
    sources_named: Phrases
    other_grains: Phrases
    oil_words: Phrases
    oil_list: Phrases
    filling_words: Phrases
    figures: Phrases
    nutrients: Phrases
    praise: Phrases
    other_languages: Phrases
    or_nor: Phrases
    and_of_list: Phrases
    single_denials: Phrases
    doubting: Phrases
    denying: Phrases
    only_in_lists: Phrases
    done_at_places: Phrases
    additive_classes: Phrases


class SpellingWords(FileModel):
    """A list of words: those run together with allergen words, those put together when broken."""

    words: Phrases


class SpellingsFile(Sourced):
    """spellings.toml"""

    misspellings: dict[Phrase, Phrases]
    broken: SpellingWords
    companions: SpellingWords
