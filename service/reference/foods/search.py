"""Finds foods by words: plurals, other names, Spanish names and slips of the keyboard are forgiven.

The index is built on the first search. A food whose whole name is asked for comes first, then the kinds of it, then foods
that only mention it; lunch foods and dishes come before generic foods.
"""

import re
import unicodedata
from bisect import bisect_right
from collections.abc import Iterator
from functools import cached_property, lru_cache
from itertools import accumulate, islice, product
from typing import NamedTuple

from service.reference.files import FileModel, data_path, read_toml
from service.reference.foods.generic_foods import generic_foods
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.foods.recipes import recipe_rows

WORD = re.compile(r"[a-z0-9]+")
LIKE = 200
"""The order of a word that is only like one of a name, from here on."""
LEAST_LIKENESS = 76
"""Similarity (0 to 100) from which a misspelt word counts; our choice."""
SHORTEST_MISSPELT = 4
SMALL_WORDS = frozenset({"a", "an", "and", "the", "with", "in", "on", "of", "for", "some", "n"})
"""Words of a query that need not be in a name."""
AFTER_THE_KIND = re.compile(r",|\(| with | in | made | from | on | kind\b")
"""Where the part of a name ends that says what kind of food it is."""
SHORTEST_STEM = 3
SPANISH_SMALL_WORDS = frozenset(
    {"de", "del", "con", "y", "e", "al", "a", "el", "la", "los", "las", "un", "una", "para"}
)
MOST_TRANSLATIONS = 8
"""As many ways to put a Spanish query into English are tried."""


class FoundFood(NamedTuple):
    """One food found: id, name, and which table it is in."""

    id: str
    name: str
    kind: str


class OtherNamesFile(FileModel):
    """Groups of names for the same food; ``near``: names of foods that no table has, with a like one that is there.

    ``not_here``: names of foods that no table has, nor any like it; no slip of the keys is looked for in them.
    """

    title: str = ""
    source: str
    same: list[list[str]]
    near: dict[str, list[str]]
    not_here: list[str]


class SpanishNamesFile(FileModel):
    """Spanish names of foods, each with its English ones."""

    title: str = ""
    source: str
    names: dict[str, list[str]]


class Phrase(NamedTuple):
    """One name of a food, as stems in order: all words, and those that say its kind."""

    in_order: tuple[str, ...]
    kind: tuple[str, ...]


def fold(text: str) -> str:
    """Lower case, accents off.

    >>> fold("Crème FRAÎCHE")
    'creme fraiche'
    """
    if text.isascii():  # nearly all names: three times as fast
        return text.lower()
    return "".join(c for c in unicodedata.normalize("NFKD", text.casefold()) if not unicodedata.combining(c))


@lru_cache(maxsize=32768)
def stem(word: str) -> str:
    """A word without its plural, for comparing; not always a word itself.

    >>> stem("berries") == stem("berry"), stem("tomatoes") == stem("tomato"), stem("hummus")
    (True, True, 'hummus')
    """
    if len(word) > SHORTEST_STEM and word.endswith("s") and not word.endswith(("ss", "us", "is")):
        word = word[:-1]
        if word.endswith(("oe", "che", "she", "xe", "sse")):
            word = word[:-1]
        if word in {"leave", "loave", "halve", "calve"}:
            word = word[:-2] + "f"
    if word.endswith("ie") and len(word) > SHORTEST_STEM:
        return word[:-2] + "y"
    return word[:-1] if word.endswith("e") and len(word) > SHORTEST_STEM else word


def stems(text: str) -> tuple[str, ...]:
    """The stems of a folded text, in order, without small words (unless there are no others)."""
    words = WORD.findall(text)
    return tuple(stem(word) for word in words if word not in SMALL_WORDS) or tuple(map(stem, words))


def _phrase(text: str) -> Phrase:
    return Phrase(stems(text), stems(AFTER_THE_KIND.split(text, maxsplit=1)[0]))


class FoodIndex:
    """The words of all foods as one text, a line a food: looking through it costs less than sorting its words first."""

    def __init__(self) -> None:
        rows, table = lunch_foods().rows().values(), generic_foods()
        named = [("lunch_food", row["id"], row["name"], row.words("search_words")) for row in rows]
        named += [("recipe", dish.id, dish.name, dish.search_words) for dish in recipe_rows()]
        self._names = [(name, *more) for _kind, _id, name, more in named]
        """Of lunch foods and dishes, which come first; a generic food has one name."""
        self.foods = [FoundFood(food_id, name, kind) for kind, food_id, name, _more in named]
        lines = [" ; ".join((*names, food.id)) for names, food in zip(self._names, self.foods, strict=True)]
        for food_id, name in zip(table.ids(), table.names(), strict=True):
            self.foods.append(FoundFood(food_id, name, "generic_food"))
            lines.append(f"{name} ; {food_id}")
        self._ranks = [0] * len(rows) + [1] * (len(named) - len(rows)) + [2] * len(table)
        self._everyday: set[str] = {row["id"] for row in rows if row["everyday"] == "yes"}
        folded = [fold(line) for line in lines]
        self._starts = list(accumulate((len(line) + 1 for line in folded), initial=0))
        self._text = "\n".join(folded)

    @cached_property
    def _words(self) -> list[str]:
        """Every word of the text; only a misspelt query needs them."""
        return sorted(set(WORD.findall(self._text)))

    @cached_property
    def _joined(self) -> dict[str, list[int]]:
        """Names of lunch foods and dishes as one word, for "hotdog" and "pop corn"."""
        joined: dict[str, list[int]] = {}
        for place, names in enumerate(self._names):
            for name in names:
                phrase = _phrase(fold(name))
                for one in {"".join(phrase.in_order), "".join(phrase.kind)}:
                    joined.setdefault(one, []).append(place)
        return joined

    def search(self, query: str) -> list[FoundFood]:
        """All foods that hold every word of the query, best first; all foods for an empty query.

        A name that means the same (`other_names.toml`) finds them too.
        """
        folded = fold(query)
        if not WORD.findall(folded):
            if query.strip():
                return []
            places = sorted(
                range(len(self.foods)), key=lambda i: (self._ranks[i], len(self.foods[i].name), self.foods[i].id)
            )
            return [self.foods[i] for i in places]
        best: dict[int, tuple[int, ...]] = {}
        for wording in (*same_meaning(folded), *near_meaning(folded)):
            for place, key in self._ordered(wording).items():
                best[place] = min(key, best.get(place, key))
        meant = {place: key for place, key in best.items() if key[0] not in (BEGUN, GENERIC_BEGUN) or key[1] < LIKE}
        if not meant and _is_not_here(folded):
            return []
        if not best:  # no slip of an English word: perhaps of a Spanish one
            for wording in in_english(folded, slips=True):
                best.update(self._ordered(wording))
        best = meant or best  # a slip is only looked for where no wording is a word of a name
        if not any(key[0] <= KIND for key in best.values()):
            # No lunch food or dish is of this kind: a generic food of this name comes before one that only mentions it.
            for place, key in best.items():
                if key[0] == GENERIC_NAMED:
                    best[place] = (KIND, *key[1:])
        return [self.foods[i] for i in sorted(best, key=lambda i: (best[i], len(self.foods[i].name), self.foods[i].id))]

    def _ordered(self, wording: str) -> dict[int, tuple[int, ...]]:
        """Food -> its place in the order: what is matched, how, and whether it is an everyday food."""
        asked = stems(wording)
        words = [word for word in WORD.findall(wording) if word not in SMALL_WORDS] or WORD.findall(wording)
        found = self._hits(words[0])
        for word in words[1:]:
            hits = self._hits(word)
            found = {place: max(found[place], grade) for place, grade in hits.items() if place in found}
        for place in self._joined.get("".join(asked), ()):
            found[place] = 0.0
        return {place: self._key(place, asked, grade) for place, grade in found.items()}

    def _key(self, place: int, asked: tuple[str, ...], grade: float) -> tuple[int, ...]:
        less_usual = 0 if self.foods[place].id in self._everyday or self._ranks[place] == 1 else 1
        generic = self._ranks[place] == 2
        slip = round(100 * grade)
        if grade > 0.0:
            return (GENERIC_BEGUN if generic else BEGUN), slip, less_usual
        wanted, joined = frozenset(asked), "".join(asked)
        best = (GENERIC if generic else MENTIONED), 1, less_usual, 0
        for nth, phrase in enumerate(self._phrases(place)):
            other_name, all_words = int(nth > 0), frozenset(phrase.in_order)
            if joined in ("".join(phrase.in_order), "".join(phrase.kind)):
                exact = joined == "".join(phrase.in_order) and not other_name
                best = min(best, (GENERIC_NAMED if generic else NAMED, int(not exact), less_usual, other_name))
            elif wanted == all_words or wanted == frozenset(phrase.kind):  # in another order
                best = min(best, (GENERIC_NAMED if generic else NAMED, 2, less_usual, other_name))
            elif not generic and wanted <= all_words and phrase.kind and phrase.kind[-1] in wanted:
                best = min(best, (KIND, other_name, less_usual, 0))
        return best

    def _phrases(self, place: int) -> Iterator[Phrase]:
        names = self._names[place] if place < len(self._names) else (self.foods[place].name,)
        return (_phrase(fold(name)) for name in names)

    def _hits(self, word: str) -> dict[int, float]:
        """Food -> grade: 0 whole word, 1 beginning of a word, 2 to 3 likeness (only where nothing begins so)."""
        hits: dict[int, float] = {}
        wanted = stem(word)
        begin = wanted[:-1] if len(wanted) > SHORTEST_STEM else wanted
        # A pattern that begins with plain letters is found fast, one that first looks behind is tried at every place.
        for match in re.finditer(rf"{begin}[a-z0-9]*", self._text):
            if WORD.match(self._text, match.start() - 1, match.start()):
                continue  # the middle of a word
            if stem(match[0]) == wanted:
                grade = 0.0
            elif match[0].startswith(word):
                grade = 1.0
            else:
                continue
            food = bisect_right(self._starts, match.start()) - 1
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


NAMED, KIND, MENTIONED, BEGUN, GENERIC_NAMED, GENERIC, GENERIC_BEGUN = range(7)
"""The order of what was found: the food asked for, a kind of it, one that mentions it, one of whose words begins so."""


def same_meaning(folded: str) -> Iterator[str]:
    """The query as it is and in English where it is Spanish, and with each name in it exchanged for the others of its group."""
    yield folded
    yield from _exchanged(folded)
    for english in in_english(folded):
        yield english
        yield from _exchanged(english)


def _exchanged(folded: str) -> Iterator[str]:
    spaced = f" {' '.join(WORD.findall(folded))} "
    plain = f" {' '.join(stem(word) for word in WORD.findall(folded))} "
    for group in _other_names().same:
        for name in group:
            if f" {' '.join(map(stem, name.split()))} " in plain:
                for other in group:
                    if other != name:
                        exchanged = re.sub(rf" {re.escape(name)}(s|es)? ", f" {other} ", spaced)
                        if exchanged != spaced:
                            yield exchanged.strip()


def near_meaning(folded: str) -> Iterator[str]:
    """Foods like the one asked for, which no table has: to choose from, and nothing to take without asking."""
    yield from _near().get(stems(folded), ())


@lru_cache(maxsize=1024)
def in_english(folded: str, slips: bool = False) -> tuple[str, ...]:
    """A Spanish query in English, word by word, the longest names first; nothing where no word of it is a Spanish name.

    ``slips``: also where a word is only like a Spanish name.

    >>> in_english("zumo de naranja"), in_english("orange")
    (('juice orange',), ())
    """
    words = [word for word in WORD.findall(folded) if word not in SPANISH_SMALL_WORDS]
    plain, names = tuple(map(stem, words)), _spanish_names()
    parts: list[list[str]] = []
    found, at = False, 0
    while at < len(words):
        for end in range(min(len(words), at + _longest_spanish()), at, -1):
            meant = names.get(plain[at:end])
            if meant is not None:
                parts.append(meant)
                found, at = True, end
                break
        else:
            like = _spanish_like(words[at]) if slips else None
            parts.append(like or [words[at]])
            found = found or like is not None
            at += 1
    return tuple(" ".join(one) for one in islice(product(*parts), MOST_TRANSLATIONS)) if found else ()


def _is_not_here(folded: str) -> bool:
    asked = stems(folded)
    return any(stems(name) == asked for name in _other_names().not_here)


@lru_cache(maxsize=1)
def _near() -> dict[tuple[str, ...], list[str]]:
    return {stems(name): like for name, like in _other_names().near.items()}


@lru_cache(maxsize=1)
def _spanish_names() -> dict[tuple[str, ...], list[str]]:
    file = read_toml(data_path("foods/spanish_names.toml"), SpanishNamesFile)
    return {
        tuple(stem(word) for word in WORD.findall(fold(name)) if word not in SPANISH_SMALL_WORDS): meant
        for name, meant in file.names.items()
    }


def _spanish_like(word: str) -> list[str] | None:
    from rapidfuzz import fuzz, process

    singles = [name[0] for name in _spanish_names() if len(name) == 1]
    like = process.extractOne(stem(word), singles, scorer=fuzz.ratio, score_cutoff=LEAST_LIKENESS)
    return None if like is None or len(word) < SHORTEST_MISSPELT else _spanish_names()[(like[0],)]


@lru_cache(maxsize=1)
def _longest_spanish() -> int:
    return max(map(len, _spanish_names()))


@lru_cache(maxsize=1)
def _other_names() -> OtherNamesFile:
    return read_toml(data_path("foods/other_names.toml"), OtherNamesFile)


@lru_cache(maxsize=1)
def food_index() -> FoodIndex:
    """The index, built once."""
    return FoodIndex()
