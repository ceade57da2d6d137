"""Whether a text looks like an ingredient statement in a language of the tables; if not, it clears nothing.

The bounds are ours: of 2,138 US statements counted against the words of as many others, fewer than 1 in 100 had
more than a quarter of unknown words, while of a statement in a language that is not in the tables most words are unknown.
"""

from collections.abc import Sequence
from typing import Final, NamedTuple

from service.domain.labels.spelling import look_at_unknown
from service.domain.labels.words import LabelWords

MOST_UNKNOWN: Final = 4
"""At most one word in so many may be unknown, where more than one is."""
SHORTEST_WORD: Final = 3
"""Shorter words tell no language, unless they are not in Latin letters."""
FIRST_WITHOUT_SPACES: Final = "\u2e80"
"""From here on Unicode has the scripts of East Asia."""
LETTERS_OF_A_WORD: Final = 3
"""Letters that count as a word in a script that is written without spaces."""


class Seen(NamedTuple):
    """Words of a text, how many of them are in none of the tables, and whether one names a food."""

    words: int
    unknown: int
    names_food: bool

    @property
    def readable(self) -> bool:
        """Whether enough of the words are known; a text without words has none."""
        if self.unknown == 1:
            return self.words > 2
        return self.unknown * MOST_UNKNOWN <= self.words


def count_known(words: LabelWords, tokens: Sequence[str]) -> Seen:
    """Count the words of a text that are known, as phrases, as ordinary words or as misspellings of one.

    Source: ours.
    """
    known = words.known
    count = unknown = 0
    names_food = False
    for word in tokens:
        long_enough = len(word) >= SHORTEST_WORD or not word.isascii()
        if word in known:
            count += 1
            names_food = names_food or word in words.foods
        elif not word.isascii():
            here = -(-len(word) // LETTERS_OF_A_WORD) if word >= FIRST_WITHOUT_SPACES else 1
            count += here
            unknown += here
        elif long_enough and word.isalpha():
            count += 1
            if look_at_unknown(words, word) is None:
                unknown += 1
            else:
                names_food = True
    return Seen(count, unknown, names_food)
