"""Finds foods by the beginnings of words, forgiving a slip of the keyboard.

The index is built on the first search. Lunch foods come before recipes, these before generic foods;
within a kind, whole words before beginnings before likenesses, short names before long ones.
"""

import re
import unicodedata
from bisect import bisect_left
from dataclasses import dataclass
from functools import lru_cache

from service.reference.foods.generic_foods import generic_foods
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.foods.recipes import recipes

WORD = re.compile(r"[a-z0-9]+")
LEAST_LIKENESS = 76
"""Similarity (0 to 100) from which a misspelt word counts; a choice of ours."""
SHORTEST_MISSPELT = 4


@dataclass(frozen=True, slots=True)
class FoundFood:
    """One food found: id, name, and which table it is in."""

    id: str
    name: str
    kind: str


def fold(text: str) -> str:
    """Lower case, accents off."""
    if text.isascii():  # nearly all names: three times as fast
        return text.lower()
    return "".join(c for c in unicodedata.normalize("NFKD", text.casefold()) if not unicodedata.combining(c))


class FoodIndex:
    """Words of all foods, sorted, with the foods they stand in."""

    def __init__(self) -> None:
        self.foods: list[FoundFood] = []
        self._ranks: list[tuple[int, int, str]] = []
        postings: dict[str, list[int]] = {}
        for row in lunch_foods().rows().values():
            self._add(postings, FoundFood(row["id"], row["name"], "lunch_food"), 0, row["search_words"])
        for recipe in recipes().values():
            self._add(postings, FoundFood(recipe.id, recipe.name, "recipe"), 1, " ".join(recipe.search_words))
        table = generic_foods()
        for food_id, name in zip(table.ids(), table.names(), strict=True):
            self._add(postings, FoundFood(food_id, name, "generic_food"), 2, "")
        self._folded = [fold(food.name) for food in self.foods]
        self._words = sorted(postings)
        self._postings = [tuple(dict.fromkeys(postings[word])) for word in self._words]

    def _add(self, postings: dict[str, list[int]], food: FoundFood, rank: int, more: str) -> None:
        place = len(self.foods)
        self.foods.append(food)
        self._ranks.append((rank, len(food.name), food.id))
        for word in WORD.findall(fold(f"{food.name} {more} {food.id}")):
            postings.setdefault(word, []).append(place)

    def search(self, query: str) -> list[FoundFood]:
        """All foods that hold every word of the query, best first; all foods for an empty query."""
        words = WORD.findall(fold(query))
        if not words and query.strip():
            return []
        if not words:
            return [self.foods[i] for i in sorted(range(len(self.foods)), key=lambda i: self._ranks[i])]
        likeness: dict[int, float] | None = None
        for word in words:
            hits = self._hits(word)
            if likeness is None:
                likeness = hits
            else:
                likeness = {i: likeness[i] + grade for i, grade in hits.items() if i in likeness}
        found = likeness or {}
        return [
            self.foods[i]
            for i in sorted(found, key=lambda i: (self._ranks[i][0], found[i], self._ranks[i][1], self._ranks[i][2]))
        ]

    def _hits(self, word: str) -> dict[int, float]:
        """Food -> grade: 0 whole word, 1 beginning of a word, 2 to 3 likeness (only where nothing begins so).

        A word of the name counts half a grade more than one of the search words.
        """
        hits: dict[int, float] = {}
        place = bisect_left(self._words, word)
        while place < len(self._words) and self._words[place].startswith(word):
            whole = 0.0 if self._words[place] == word else 1.0
            for food in self._postings[place]:
                grade = whole + (0.0 if word in self._folded[food] else 0.5)
                hits[food] = min(grade, hits.get(food, grade))
            place += 1
        if hits or len(word) < SHORTEST_MISSPELT:
            return hits
        from rapidfuzz import fuzz, process
        from rapidfuzz.distance import JaroWinkler

        for match, _score, index in process.extract(
            word, self._words, scorer=fuzz.ratio, limit=8, score_cutoff=LEAST_LIKENESS
        ):
            grade = 3.0 - JaroWinkler.similarity(word, match)  # a slip is rarer at the beginning of a word
            for food in self._postings[index]:
                hits[food] = min(grade, hits.get(food, grade))
        return hits


@lru_cache(maxsize=1)
def food_index() -> FoodIndex:
    """The index, built once."""
    return FoodIndex()
