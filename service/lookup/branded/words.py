"""Finds the foods of an index by words: all of them in the description, then in description and brand, then words spelt alike.

Of the foods that match, those with the shortest descriptions come first: their rows in the table of words stand in that order,
so that the first are found without going through all the others.
"""

import re
import sqlite3
from collections.abc import Callable
from contextlib import closing
from functools import lru_cache
from itertools import islice, product
from pathlib import Path
from typing import Final, NamedTuple

_WORD: Final = re.compile(r"[^\W_]+")
SHORTEST_BEGINNING: Final = 3
"""From so many letters on the last word may be the beginning of one."""
MOST_WORDS: Final = 12
NEAR_WORDS: Final = 3
"""So many words that are spelt alike are tried for one that no food has."""
MOST_TRIED: Final = 9
"""So many ways to put such words together are tried."""
_IN_ORDER: Final = """
SELECT ranked.food FROM words JOIN ranked ON ranked.place = words.rowid WHERE words MATCH ? ORDER BY words.rowid LIMIT ?
"""


class Vocabulary(NamedTuple):
    """The words of an index, those of each length together, each with the number of foods that have it."""

    by_length: dict[int, dict[str, int]]

    def has(self, word: str) -> bool:
        """Whether some food has the word."""
        return word in self.by_length.get(len(word), {})

    def begins(self, beginning: str) -> bool:
        """Whether some word begins so."""
        return any(word.startswith(beginning) for words in self.by_length.values() for word in words)

    def near(self, word: str) -> list[tuple[str, int]]:
        """The words that are spelt most like one, at most three, each with how many letters differ.

        A letter too many, one missing, one wrong, and two exchanged differ by one. Of those as near, the ones that stand in
        more foods come first.
        """
        from rapidfuzz.distance import OSA
        from rapidfuzz.process import extract

        most = 1 if len(word) < 5 else 2
        foods = {
            known: count
            for length in range(len(word) - most, len(word) + most + 1)
            for known, count in self.by_length.get(length, {}).items()
        }
        found = extract(word, foods.keys(), scorer=OSA.distance, score_cutoff=most, limit=None)
        ranked = sorted(found, key=lambda one: (one[1], -foods[one[0]], one[0]))
        return [(known, int(distance)) for known, distance, _place in ranked[:NEAR_WORDS]]


@lru_cache(maxsize=2)
def read_vocabulary(path: Path, _written: int) -> Vocabulary:
    """The vocabulary of the index at a path; ``_written``: when that was, so that a new build is read anew."""
    by_length: dict[int, dict[str, int]] = {}
    with closing(sqlite3.connect(path)) as index:
        for word, foods in index.execute("SELECT word, foods FROM vocabulary"):
            by_length.setdefault(len(word), {})[word] = foods
    return Vocabulary(by_length)


def found_ids(index: sqlite3.Connection, text: str, limit: int, vocabulary: Callable[[], Vocabulary]) -> list[int]:
    """The ids of the foods that match a text, at most ``limit``; ``vocabulary`` is called only where no food matches."""
    words = [one.casefold() for one in _WORD.findall(text)][:MOST_WORDS]
    if not words or limit < 1:
        return []
    found = _with_all(index, words, limit)
    if found:
        return found
    for tried in _spelt_alike(vocabulary(), words):
        found += [one for one in _with_all(index, tried, limit) if one not in found]
        if len(found) >= limit:
            break
    return found[:limit]


def _with_all(index: sqlite3.Connection, words: list[str], limit: int) -> list[int]:
    """The foods that have all the words, first those that have them all in the description.

    Each word is quoted, so that none is read as an operator of the search.
    """
    quoted = [f'"{one}"' for one in words]
    if len(words[-1]) >= SHORTEST_BEGINNING:
        quoted[-1] += "*"
    asked = " ".join(quoted)
    found = [row[0] for row in index.execute(_IN_ORDER, (f"description : ({asked})", limit))]
    if len(found) < limit:
        found += [row[0] for row in index.execute(_IN_ORDER, (asked, limit)) if row[0] not in found]
    return found[:limit]


def _spelt_alike(vocabulary: Vocabulary, words: list[str]) -> list[list[str]]:
    """The words with others that are spelt alike in the place of those that no food has, or of all; the nearest first."""
    unknown = [not vocabulary.has(one) for one in words]
    unknown[-1] = unknown[-1] and not vocabulary.begins(words[-1])
    near = [
        [(word, 0)] if len(word) < SHORTEST_BEGINNING or (any(unknown) and not odd) else vocabulary.near(word)
        for word, odd in zip(words, unknown, strict=True)
    ]
    ways = sorted(product(*near), key=lambda way: sum(distance for _word, distance in way))
    return [[word for word, _distance in way] for way in islice(ways, MOST_TRIED)]
