"""Whether a text looks like an ingredient statement in a language of the tables; if not, it clears nothing.

The bounds are ours: of 2,138 US statements counted against the words of as many others, fewer than 1 in 100 had
more than a quarter of unknown words, while of a statement in a language that is not in the tables most words are unknown.
"""

from collections.abc import Sequence
from typing import Final, NamedTuple

from service.domain.labels.spelling import look_at_unknown
from service.domain.labels.words import LabelWords

MOST_UNKNOWN: Final = 4
"""At most one word in so many may be unknown."""
SHORTEST_WORD: Final = 3
"""Shorter words tell no language, unless they are not in Latin letters."""
FIRST_OTHER_SCRIPT: Final = "\u0370"
"""From here on Unicode has other scripts than the Latin; a word in one of them that is not known is not read at all."""
FIRST_WITHOUT_SPACES: Final = "\u2e80"
"""From here on Unicode has the scripts of East Asia."""
LETTERS_OF_A_WORD: Final = 3
"""Letters that count as a word in a script that is written without spaces."""
LIST_MARKS: Final = frozenset(",;:()[]{}|/\u2022\u3001\n")
"""What separates the items of a list."""


class Seen(NamedTuple):
    """Words of a text, how many of them are in none of the tables, and whether one names a food."""

    words: int
    unknown: int
    names_food: bool
    other_script: bool = False

    @property
    def readable(self) -> bool:
        """Whether enough of the words are known; a text without words has none."""
        if self.other_script:
            return False
        return self.unknown * MOST_UNKNOWN <= self.words


def count_known(words: LabelWords, tokens: Sequence[str]) -> Seen:
    """Count the words of a text that are known, as phrases, as ordinary words or as misspellings of one.

    Source: ours.
    """
    known = words.known
    others = [word for word in tokens if word not in known]
    count, unknown = len(tokens) - len(others), 0
    names_food, other_script = not words.foods.isdisjoint(tokens), False
    for word in others:
        if not word.isascii():
            here = -(-len(word) // LETTERS_OF_A_WORD) if word >= FIRST_WITHOUT_SPACES else 1
            other_script = other_script or (len(word) > 1 and FIRST_OTHER_SCRIPT <= word[0] < FIRST_WITHOUT_SPACES)
            count += here
            unknown += here
        elif len(word) >= SHORTEST_WORD and word.isalpha():
            count += 1
            other_script = other_script or word in words.other_languages
            if look_at_unknown(words, word) is None:
                unknown += 1
            else:
                names_food = True
    if names_food and any(word in tokens for word in words.figures):
        names_food = any(word in words.foods and word not in words.nutrients for word in tokens)
    return Seen(count, unknown, names_food, other_script)
