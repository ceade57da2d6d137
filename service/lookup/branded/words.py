"""Finds the foods of an index by words: all of them in the description or brand, or else words that are spelt alike."""

import re
import sqlite3
from itertools import islice, product
from typing import Final

_WORD: Final = re.compile(r"[^\W_]+")
SHORTEST_BEGINNING: Final = 3
"""From so many letters on the last word may be the beginning of one."""
MOST_WORDS: Final = 12
NEAR_WORDS: Final = 3
"""So many words that are spelt alike are tried for one that no food has."""
MOST_TRIED: Final = 9
"""So many ways to put such words together are tried."""
_BY_NEARNESS: Final = "SELECT rowid FROM words WHERE words MATCH ? ORDER BY bm25(words, 2.0, 1.0), rowid LIMIT ?"


def found_ids(index: sqlite3.Connection, text: str, limit: int) -> list[int]:
    """The ids of the foods that match a text, the nearest first, at most ``limit``."""
    words = [one.casefold() for one in _WORD.findall(text)][:MOST_WORDS]
    if not words or limit < 1:
        return []
    found = _ids(index, words, limit, beginning=True)
    if found:
        return found
    for tried in _spelt_alike(index, words):
        found += [one for one in _ids(index, tried, limit, beginning=False) if one not in found]
        if len(found) >= limit:
            break
    return found[:limit]


def _ids(index: sqlite3.Connection, words: list[str], limit: int, *, beginning: bool) -> list[int]:
    """Each word is quoted, so that none is read as an operator of the search."""
    quoted = [f'"{one}"' for one in words]
    if beginning and len(words[-1]) >= SHORTEST_BEGINNING:
        quoted[-1] += "*"
    return [row[0] for row in index.execute(_BY_NEARNESS, (" ".join(quoted), limit))]


def _spelt_alike(index: sqlite3.Connection, words: list[str]) -> list[list[str]]:
    """The words with those that are spelt alike in their place, the nearest first."""
    near = [near_words(index, one) for one in words]
    if not all(near):
        return []
    ways = sorted(product(*near), key=lambda way: sum(distance for _word, distance in way))
    return [[word for word, _distance in way] for way in islice(ways, MOST_TRIED)]


def near_words(index: sqlite3.Connection, word: str) -> list[tuple[str, int]]:
    """The words of the index that are spelt most like one, at most three, each with how many letters differ.

    Of those as near, the ones that stand in more foods come first. A letter too many, one missing, one wrong, and two
    exchanged differ by one.
    """
    from rapidfuzz.distance import OSA
    from rapidfuzz.process import extract

    most = 1 if len(word) < 5 else 2
    rows = index.execute(
        "SELECT word, foods FROM vocabulary WHERE length(word) BETWEEN ? AND ?", (len(word) - most, len(word) + most)
    ).fetchall()
    foods = {row[0]: row[1] for row in rows}
    found = extract(word, foods.keys(), scorer=OSA.distance, score_cutoff=most, limit=None)
    ranked = sorted(found, key=lambda one: (one[1], -foods[one[0]], one[0]))
    return [(near, distance) for near, distance, _place in ranked[:NEAR_WORDS]]
