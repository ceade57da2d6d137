"""Finds foods by the beginnings of words, forgiving a slip of the keyboard.

The index is built on the first search. Lunch foods come before recipes, these before generic foods;
within a kind, whole words before beginnings before likenesses, short names before long ones.
"""

import re
import unicodedata
from bisect import bisect_right
from functools import cached_property, lru_cache
from typing import NamedTuple

from service.reference.foods.generic_foods import generic_foods
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.foods.recipes import recipe_rows

WORD = re.compile(r"[a-z0-9]+")
LEAST_LIKENESS = 76
"""Similarity (0 to 100) from which a misspelt word counts; our choice."""
SHORTEST_MISSPELT = 4


class FoundFood(NamedTuple):
    """One food found: id, name, and which table it is in."""

    id: str
    name: str
    kind: str


def fold(text: str) -> str:
    """Lower case, accents off.

    >>> fold("Crème FRAÎCHE")
    'creme fraiche'
    """
    if text.isascii():  # nearly all names: three times as fast
        return text.lower()
    return "".join(c for c in unicodedata.normalize("NFKD", text.casefold()) if not unicodedata.combining(c))


class FoodIndex:
    """The words of all foods as one text, a line a food: looking through it costs less than sorting its words first."""

    def __init__(self) -> None:
        self.foods: list[FoundFood] = []
        self._ranks: list[int] = []
        self._names: list[str] = []
        self._starts: list[int] = []
        lines: list[str] = []
        table = generic_foods()
        for rank, kind, rows in (
            (0, "lunch_food", [(row["id"], row["name"], row["search_words"]) for row in lunch_foods().rows().values()]),
            (1, "recipe", [(row.id, row.name, " ".join(row.search_words)) for row in recipe_rows()]),
            (2, "generic_food", [(id_, name, "") for id_, name in zip(table.ids(), table.names(), strict=True)]),
        ):
            for food_id, name, more in rows:
                self.foods.append(FoundFood(food_id, name, kind))
                self._ranks.append(rank)
                self._names.append(fold(name))
                lines.append(f"{self._names[-1]} {fold(more)} {food_id}" if more else f"{self._names[-1]} {food_id}")
        start = 0
        for line in lines:
            self._starts.append(start)
            start += len(line) + 1
        self._text = "\n".join(lines)

    @cached_property
    def _words(self) -> list[str]:
        """Every word of the text; only a misspelt query needs them."""
        return sorted(set(WORD.findall(self._text)))

    def search(self, query: str) -> list[FoundFood]:
        """All foods that hold every word of the query, best first; all foods for an empty query."""
        words = WORD.findall(fold(query))
        if not words and query.strip():
            return []
        if not words:
            return [self.foods[i] for i in sorted(range(len(self.foods)), key=lambda i: self._order(i, 0.0))]
        found = self._hits(words[0])
        for word in words[1:]:
            hits = self._hits(word)
            found = {i: found[i] + grade for i, grade in hits.items() if i in found}
        return [self.foods[i] for i in sorted(found, key=lambda i: self._order(i, found[i]))]

    def _order(self, place: int, grade: float) -> tuple[int, float, int, str]:
        food = self.foods[place]
        return self._ranks[place], grade, len(food.name), food.id

    def _hits(self, word: str) -> dict[int, float]:
        """Food -> grade: 0 whole word, 1 beginning of a word, 2 to 3 likeness (only where nothing begins so).

        A word of the name counts half a grade more than one of the search words.
        """
        hits: dict[int, float] = {}
        # A pattern that begins with plain letters is found fast, one that first looks behind is tried at every place.
        for match in re.finditer(rf"{word}[a-z0-9]*", self._text):
            if WORD.match(self._text, match.start() - 1, match.start()):
                continue  # the middle of a word
            food = bisect_right(self._starts, match.start()) - 1
            grade = (0.0 if match[0] == word else 1.0) + (0.0 if word in self._names[food] else 0.5)
            hits[food] = min(grade, hits.get(food, grade))
        if hits or len(word) < SHORTEST_MISSPELT:
            return hits
        from rapidfuzz import fuzz, process
        from rapidfuzz.distance import JaroWinkler

        for like, _score, _index in process.extract(
            word, self._words, scorer=fuzz.ratio, limit=8, score_cutoff=LEAST_LIKENESS
        ):
            grade = 3.0 - JaroWinkler.similarity(word, like)  # a slip is rarer at the beginning of a word
            for match in re.finditer(rf"(?<![a-z0-9]){like}(?![a-z0-9])", self._text):
                food = bisect_right(self._starts, match.start()) - 1
                hits[food] = min(grade, hits.get(food, grade))
        return hits


@lru_cache(maxsize=1)
def food_index() -> FoodIndex:
    """The index, built once."""
    return FoodIndex()
