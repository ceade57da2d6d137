"""Short ways to ask what the reader finds in a statement; the statements are made up for the tests.

They ask for the allergens of label_words.toml, that laws list; ``test_foods_beyond_lists`` asks for the other foods.
"""

from dataclasses import replace
from functools import lru_cache

from service.domain.labels.evidence import LabelReading
from service.domain.labels.reader import read_label
from service.domain.messages import Message
from service.reference.files import data_path, read_toml
from service.reference.labels.models import LabelWordsFile
from service.reference.labels.words import label_words
from service.reference.messages import say


@lru_cache(maxsize=1)
def asked_for() -> frozenset[str]:
    """The allergens that label_words.toml has words for."""
    file = read_toml(data_path("allergens/label_words.toml"), LabelWordsFile)
    return frozenset(allergen for row in file.words for allergen in row.allergens)


def reading(ingredients: str | None, contains: str | None = None, precaution: str | None = None) -> LabelReading:
    """Read with the words of the product, for the allergens of label_words.toml."""
    found = read_label(label_words(), ingredients, contains, precaution)
    return replace(found, evidence=tuple(one for one in found.evidence if one.allergen in asked_for()))


def hard(ingredients: str) -> set[str]:
    """What the statement says is in it."""
    return set(reading(ingredients).contains)


def warned(ingredients: str) -> set[str]:
    """What the statement warns of."""
    return set(reading(ingredients).may_contain)


def to_check(ingredients: str) -> set[str]:
    """What the statement leaves open."""
    return set(reading(ingredients).check_label)


def everything(ingredients: str) -> set[str]:
    """All ids named at any tier."""
    return hard(ingredients) | warned(ingredients) | to_check(ingredients)


def said(reason: str | Message) -> str:
    """Why a word means an allergen, as it is shown."""
    return say(reason) if isinstance(reason, Message) else reason
