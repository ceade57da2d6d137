"""Turns the word files of reference_data into the label words, once, with the first label that is read."""

import re
from collections.abc import Iterable
from functools import lru_cache

from service.domain.labels.exempt import Exempt, exempt_pattern
from service.domain.labels.phrases import compile_label_words
from service.domain.labels.words import FalseFriend, LabelWords, Spellings, StatementPhrases, WordGroup
from service.domain.messages import message
from service.reference.allergens.vocabulary import FOLDER, vocabulary
from service.reference.files import data_path, read_toml
from service.reference.labels.models import (
    DishesFile,
    ExemptFile,
    FalseFriendsFile,
    KnownWordsFile,
    LabelWordsFile,
    SpellingsFile,
    StatementsFile,
)

LABEL_WORDS = ("label_words", "label_words_languages", "label_words_foods")


@lru_cache(maxsize=1)
def exempt_words() -> re.Pattern[str]:
    """What ``without_exempt`` takes out of a statement; raises ``ReferenceFault``."""
    file = read_toml(data_path(f"{FOLDER}/exempt.toml"), ExemptFile)
    return exempt_pattern([Exempt(row.cereals, row.products, row.before) for row in file.exempt])


def label_reasons() -> frozenset[str]:
    """Why words on labels mean an allergen, where the files say it in words of their own."""
    files = [read_toml(data_path(f"{FOLDER}/{name}.toml"), LabelWordsFile) for name in LABEL_WORDS]
    friends = read_toml(data_path(f"{FOLDER}/false_friends.toml"), FalseFriendsFile)
    found = {row.reason for file in files for row in file.words}
    return frozenset(found | {row.reason for row in friends.false_friend})


def _names(ids: Iterable[str]) -> list[str]:
    return [vocabulary().allergens[one].name for one in ids]


@lru_cache(maxsize=1)
def label_words() -> LabelWords:
    """The words that ``read_label`` looks for; raises ``ReferenceFault``."""
    files = [read_toml(data_path(f"{FOLDER}/{name}.toml"), LabelWordsFile) for name in LABEL_WORDS]
    dishes = read_toml(data_path(f"{FOLDER}/dishes.toml"), DishesFile)
    known = read_toml(data_path(f"{FOLDER}/known_words.toml"), KnownWordsFile)
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
                reason=row.reason or message("label-reason.word-for", allergens=_names(row.allergens)),
                use=row.use,
                answered_by=row.answered_by,
                exact=row.exact,
                stems=row.stems,
                unless_named=row.unless_named,
            )
            for file in files
            for row in file.words
        ]
        + [
            WordGroup(
                allergens=row.usually,
                tier="check_label",
                words=row.names,
                reason=message("label-reason.dish", allergens=_names(row.usually)),
                use="dish",
                answered_by="ingredients",
                exact=True,
                endings=row.endings,
            )
            for row in dishes.dish
        ],
        false_friends=[
            FalseFriend(
                looks_like=row.looks_like,
                words=row.words,
                before=row.before,
                allergens=row.allergens,
                check=row.check,
                answered_by=row.answered_by,
                hides=tuple(member for one in row.looks_like for member in vocabulary().members_of(one)),
                reason=row.reason or message("label-reason.word-for", allergens=_names(row.allergens)),
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
        known=(word for row in (*known.food, *known.known, *known.not_food) for word in row.words),
        # The words of other languages are few and mostly of foods; the English ones are of all that is printed on packets.
        foods=(
            word
            for row in (*known.food, *known.known)
            if row in known.food or row.language != "en"
            for word in row.words
        ),
        not_food=(word for row in known.not_food for word in row.words),
        related={one: vocabulary().members_of(one) | vocabulary().groups_of(one) for one in names},
    )
