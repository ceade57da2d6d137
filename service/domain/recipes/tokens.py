"""A line as numbers, words and signs, each with its place, so that what was read can be pointed to."""

import re
from collections.abc import Sequence
from typing import NamedTuple

FRACTION_SIGNS = "¼½¾⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"
_LETTER = rf"[^\W\d_{FRACTION_SIGNS}]"
TOKEN = re.compile(rf"[0-9]+(?:[.,][0-9]+)*|(?<![0-9])[.][0-9]+|[{FRACTION_SIGNS}]|{_LETTER}+(?:['’‑-]{_LETTER}+)*|\S")
NUMBER = re.compile(r"[0-9]+(?:[.,][0-9]+)*|[.][0-9]+")
DASHES = frozenset("-–—‑‐")
SLASHES = frozenset("/⁄∕")


class Token(NamedTuple):
    """A number, a word or a sign, and where it stands in the line."""

    text: str
    start: int
    end: int

    @property
    def low(self) -> str:
        """It in lower case."""
        return self.text.lower()

    @property
    def is_number(self) -> bool:
        """Whether it is written in digits."""
        return NUMBER.fullmatch(self.text) is not None

    @property
    def is_word(self) -> bool:
        """Whether it begins with a letter."""
        return self.text[0].isalpha()


NO_TOKEN = Token(" ", -1, -1)


def tokens_of(text: str, start: int = 0, end: int | None = None) -> list[Token]:
    """The tokens of a part of a line.

    >>> [one.text for one in tokens_of("1½ cups semi-skimmed milk (8-oz)")]
    ['1', '½', 'cups', 'semi-skimmed', 'milk', '(', '8', '-', 'oz', ')']
    """
    return [Token(m[0], m.start(), m.end()) for m in TOKEN.finditer(text, start, len(text) if end is None else end)]


def token_at(tokens: Sequence[Token], place: int) -> Token:
    """The token at a place; ``NO_TOKEN`` behind the last and before the first."""
    return tokens[place] if 0 <= place < len(tokens) else NO_TOKEN
