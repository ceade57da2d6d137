"""Decides which foods and household measures are generic: no makers' products, chains or baby food.

Rules drop what a rule can see; ``generic_name_decisions.toml`` holds what a person decided after
reading the names. Every id in that file must be met, so that a stale decision stops the build.
"""

import re
import tomllib
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from generic_records import FNDDS, SR28, BuildError, Portion, SourceFood, one_space

SR28_GROUPS_OUT = {"0300": "baby foods", "2100": "fast foods", "3600": "restaurant foods"}
FNDDS_GROUPS_OUT = ("Baby ", "Formula, ")
CAPITALS = re.compile(r"\b[A-Z][A-Z&'\-]{2,}(?![a-z])")
TRADE_BRACKET = re.compile(r"\(([A-Z][^)]*)\)")
WORD = re.compile(r"[A-Za-z][A-Za-z'&]+")
CAPITALISED = re.compile(r"\b[A-ZÀ-Þ][\w']*")
INCLUDE_BRACKET = re.compile(r"\s*\(include [^)]*\)")

DECISION_KEYS = {
    "read_on",
    "names_read",
    "capital_word",
    "ordinary_word",
    "drop",
    "reword",
    "keep",
    "measure_capital_word",
    "drop_measure",
}


@dataclass(frozen=True, slots=True)
class Decisions:
    """What a person decided, in the form the rules use."""

    capital_words: frozenset[str]
    ordinary_words: frozenset[str]
    dropped: dict[str, str]
    reworded: dict[str, str]
    measure_capital_words: frozenset[str]
    dropped_measures: frozenset[str]


@dataclass(frozen=True, slots=True)
class Selection:
    """The foods that are shipped, and how many went and why (edition, reason) -> count."""

    foods: tuple[SourceFood, ...]
    left_out: Counter[tuple[str, str]]
    reworded: int
    measures_left_out: int
    measures_shortened: int


def read_decisions(text: str) -> Decisions:
    """Read the decisions file; refuses unknown keys and an id that is decided twice."""
    raw: dict[str, Any] = tomllib.loads(text)
    unknown = sorted(set(raw) - DECISION_KEYS)
    if unknown:
        raise BuildError(f"generic_name_decisions.toml: unknown keys {unknown}. Known: {sorted(DECISION_KEYS)}.")
    dropped = {key: entry["reason"] for entry in raw["drop"] for key in entry["ids"]}
    reworded = {entry["id"]: entry["name"] for entry in raw["reword"]}
    decided = [key for entry in raw["drop"] for key in entry["ids"]] + [entry["id"] for entry in raw["reword"]]
    twice = sorted(key for key, count in Counter(decided).items() if count > 1)
    if twice:
        raise BuildError(f"generic_name_decisions.toml: {twice} are decided twice.")
    return Decisions(
        capital_words=frozenset(entry["word"] for entry in raw["capital_word"]),
        ordinary_words=frozenset(word for entry in raw["ordinary_word"] for word in entry["words"]),
        dropped=dropped,
        reworded=reworded,
        measure_capital_words=frozenset(word for entry in raw["measure_capital_word"] for word in entry["words"]),
        dropped_measures=frozenset(key for entry in raw["drop_measure"] for key in entry["measures"]),
    )


def reason_to_leave_out(food: SourceFood, decisions: Decisions) -> str | None:
    """Why a food is not generic, or None if it is shipped."""
    if food.edition == SR28 and food.group_code in SR28_GROUPS_OUT:
        return f"group: {SR28_GROUPS_OUT[food.group_code]}"
    if food.edition == FNDDS and food.group.startswith(FNDDS_GROUPS_OUT):
        return "group: baby foods and formula"
    if food.manufacturer:
        return "a maker is named for it"
    if food.id in decisions.dropped:
        return f"read and left out: {decisions.dropped[food.id]}"
    name = decisions.reworded.get(food.id, food.name)
    if any(word not in decisions.capital_words for word in CAPITALS.findall(name)):
        return "trade name in capitals"
    if food.edition == FNDDS and TRADE_BRACKET.search(name):
        return "trade name in brackets"
    return None


def generic_portions(food: SourceFood, decisions: Decisions) -> tuple[tuple[Portion, ...], int]:
    """The measures without trade names, and how many had a bracket cut off."""
    kept = []
    shortened = 0
    for portion in food.portions:
        if f"{food.id}/{portion.sequence}" in decisions.dropped_measures:
            continue
        words = portion.words
        if trade_capitals(words, decisions):
            words = one_space(INCLUDE_BRACKET.sub("", words))
            if trade_capitals(words, decisions):
                continue
            shortened += 1
        kept.append(replace(portion, words=words))
    return tuple(kept), shortened


def trade_capitals(words: str, decisions: Decisions) -> bool:
    """Whether the words of a measure have a capitalised word that nobody allowed."""
    return any(word not in decisions.measure_capital_words for word in CAPITALISED.findall(words))


def trade_words(foods: Iterable[SourceFood]) -> set[str]:
    """Words of makers' names, of words in capitals and of trade brackets in the whole sources, in lower case."""
    found: set[str] = set()
    for food in foods:
        pieces = [food.manufacturer, *CAPITALS.findall(food.name)]
        if food.edition == FNDDS:
            pieces += TRADE_BRACKET.findall(food.name)
        for piece in pieces:
            found.update(word.lower() for word in WORD.findall(piece))
    return found


def check_no_trade_words(source: Iterable[SourceFood], kept: Iterable[SourceFood], decisions: Decisions) -> int:
    """Scan the kept names for trade words that are not ordinary; returns how many words were scanned for.

    A word is ordinary if some kept name has it in lower case, or a person said so. Raises ``BuildError``
    with the names found.
    """
    names = [food.name for food in kept]
    ordinary = {word for name in names for word in WORD.findall(name) if word.islower()}
    ordinary |= decisions.ordinary_words | {word.lower() for word in decisions.capital_words}
    suspects = trade_words(source) - ordinary
    hits = [name for name in names if any(word.lower() in suspects for word in WORD.findall(name))]
    if hits:
        raise BuildError(f"names with trade words: {hits[:10]}. Decide on each in generic_name_decisions.toml.")
    return len(suspects)


def select(foods: list[SourceFood], decisions: Decisions) -> Selection:
    """Choose the generic foods, reword where decided, and clean their measures.

    Raises ``BuildError`` for a decision that meets no food, for two foods with one name in an edition,
    and for a trade word that got through.
    """
    by_id = {food.id: food for food in foods}
    if len(by_id) != len(foods):
        raise BuildError("two foods have one id.")
    measure_keys = {f"{food.id}/{portion.sequence}" for food in foods for portion in food.portions}
    stale = sorted(
        (set(decisions.dropped) | set(decisions.reworded)) - set(by_id) | decisions.dropped_measures - measure_keys
    )
    if stale:
        raise BuildError(f"generic_name_decisions.toml: {stale} are in no source. Take them out.")
    left_out: Counter[tuple[str, str]] = Counter()
    kept = []
    before = after = shortened = 0
    for food in foods:
        reason = reason_to_leave_out(food, decisions)
        if reason:
            left_out[food.edition, reason] += 1
            continue
        portions, cut = generic_portions(food, decisions)
        before += len(food.portions)
        after += len(portions)
        shortened += cut
        kept.append(replace(food, name=decisions.reworded.get(food.id, food.name), portions=portions))
    names = Counter((food.edition, food.name.casefold()) for food in kept)
    twice = sorted(name for (_, name), count in names.items() if count > 1)
    if twice:
        raise BuildError(f"two foods of one edition have one name: {twice}. Reword one.")
    check_no_trade_words(foods, kept, decisions)
    return Selection(
        foods=tuple(sorted(kept, key=lambda food: food.id)),
        left_out=left_out,
        reworded=sum(1 for food in kept if food.id in decisions.reworded),
        measures_left_out=before - after,
        measures_shortened=shortened,
    )
