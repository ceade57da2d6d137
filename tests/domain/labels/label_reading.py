"""Short ways to ask what the reader finds in a statement; the statements are made up for the tests."""

from service.domain.labels.evidence import LabelReading
from service.domain.labels.reader import read_label
from service.domain.messages import Message
from service.reference.labels.words import label_words
from service.reference.messages import say


def reading(ingredients: str | None, contains: str | None = None, precaution: str | None = None) -> LabelReading:
    """Read with the words of the product."""
    return read_label(label_words(), ingredients, contains, precaution)


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
