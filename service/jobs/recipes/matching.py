"""Which food of the tables a line means: up to five candidates of the search, each with a confidence.

The confidence, 0 to 1, is how much of what the line names is in the food's name, and of the food's name in the line: ours, no source. It says
nothing about allergens; a food is taken without asking from ``TAKEN_FROM`` on, and the person sees which.
"""

import re
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from typing import Any, NamedTuple

from service.domain.foods.food import Food
from service.domain.messages import Message
from service.jobs.foods.by_id import food_by_id
from service.jobs.foods.search import search_foods
from service.jobs.recipes.alike import told_apart, without_doubles
from service.reference.foods.search import AFTER_THE_KIND, fold, same_meaning, stem, stems
from service.reference.recipes.usual_foods import usual_food
from service.reference.recipes.words import vocabulary

MOST_CANDIDATES = 5
TAKEN_FROM = 0.8
LOOKED_AT = 20
MOST_WORDS = 8
LAST_WORDS = 3
LETTERS = re.compile(r"[a-z]{2}")
HEAD_WEIGHT = 2
"""How much more the last word counts: "butter" in "unsalted butter"."""
OTHER_KIND = 0.75
"""Of a food whose name has words besides, which the line does not say: "potato, boiled" for "potatoes"."""
BEHIND_THE_HEAD = re.compile(r" (?:in|with|for|from) .*")


class Candidate(NamedTuple):
    """A food that a line may mean. ``apart``: what tells it from another candidate of the same name; None where no other has it."""

    id: str
    name: str
    kind: str
    confidence: float
    apart: Message | None = None


class FoodsAtHand(NamedTuple):
    """Where foods are looked for: ``search`` gives rows with id, name and kind, ``food`` one by its id."""

    search: Callable[[str], Sequence[dict[str, Any]]]
    food: Callable[[str], Food]


def foods_of_the_tables() -> FoodsAtHand:
    """The lunch foods, dishes and generic foods."""
    return FoodsAtHand(lambda words: search_foods(words, LOOKED_AT, None)["items"], food_by_id)


def candidates_of(words: str, foods: FoodsAtHand) -> list[Candidate]:
    """The foods that some words may mean, the likeliest first.

    >>> found = candidates_of("rolled oats", foods_of_the_tables())
    >>> found[0].id, found[0].confidence
    ('oats-rolled-dry', 1.0)
    """
    asked = _asked(words)
    best: dict[str, Candidate] = {}
    usual = usual_food(words)
    if usual is not None:
        food = foods.food(usual)
        best[usual] = Candidate(usual, food.name, food.kind, 1.0)
    for query in _queries(asked) if asked else ():
        for row in foods.search(query):
            confidence = _confidence(asked, [row["name"], *_other_names(row, foods)])
            if row["id"] == usual:
                continue
            known = best.get(row["id"])
            if known is None or confidence > known.confidence:
                best[row["id"]] = Candidate(row["id"], row["name"], row["kind"], confidence)
        if any(one.confidence >= TAKEN_FROM for one in best.values()):
            break
    found = sorted(best.values(), key=lambda one: -one.confidence)  # equal ones stay in the order of the search
    different = set(without_doubles([(one.id, one.name) for one in found], foods.food))
    shown = [one for one in found if one.id in different][:MOST_CANDIDATES]
    often = Counter(fold(one.name) for one in shown)
    return [one._replace(apart=told_apart(foods.food(one.id))) if often[fold(one.name)] > 1 else one for one in shown]


def food_meant(candidates: Sequence[Candidate]) -> Candidate | None:
    """The food that is taken without asking; None where it is to be asked: nothing is near."""
    return candidates[0] if candidates and candidates[0].confidence >= TAKEN_FROM else None


def _queries(asked: str) -> Iterator[str]:
    """All the words, then the last three, two and one of those that name the food: "unsalted butter", "butter"."""
    yield asked
    heads = BEHIND_THE_HEAD.sub("", asked).split()
    for last in range(LAST_WORDS, 0, -1):
        query = " ".join(heads[-last:])
        if last <= len(heads) and query != asked:
            yield query


def _asked(words: str) -> str:
    """The words that are searched for, in lower case: no numbers, none twice, and not too many."""
    kept = [one for one in fold(words).split() if LETTERS.search(one) and one not in vocabulary().no_other_food]
    return " ".join(list(dict.fromkeys(kept))[:MOST_WORDS])


def _other_names(row: dict[str, Any], foods: FoodsAtHand) -> Sequence[str]:
    return foods.food(row["id"]).search_words if row["kind"] in ("lunch_food", "recipe") else ()


def _confidence(asked: str, names: Sequence[str]) -> float:
    found = [_likeness(wording, name) for wording in same_meaning(asked) for name in names]
    return round(max(found, default=0.0), 2)


def _likeness(asked: str, name: str) -> float:
    """How much of each is in the other; the words that say the kind of a food are those before a comma."""
    heads = stems(BEHIND_THE_HEAD.sub("", asked))
    wanted, whole = set(stems(asked)), set(stems(fold(name)))
    kind = set(stems(AFTER_THE_KIND.split(fold(name), maxsplit=1)[0]))
    if not wanted or not kind:
        return 0.0
    if wanted == whole:
        return 1.0
    unasked = whole - kind - wanted - set(map(stem, vocabulary().plain_kinds))
    head = heads[-1] if heads else ""
    weight = {word: HEAD_WEIGHT if word == head else 1 for word in wanted}
    of_asked = sum(weight[word] for word in wanted & whole) / sum(weight.values())
    of_kind = len(wanted & kind) / len(kind)
    return of_asked * (0.25 + 0.75 * of_kind) * (OTHER_KIND if unasked else 1)
