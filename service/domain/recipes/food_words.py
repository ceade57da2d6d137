"""The rest of a line of ingredients: the food, how it is made ready, and notes."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from service.domain.recipes.quantities import Measured, measured_at, unit_at
from service.domain.recipes.tokens import Token, tokens_of
from service.domain.recipes.vocabulary import Unit, Vocabulary

BRACKETS = re.compile(r"[(\[]([^()\[\]]*)(?:[)\]]|$)")
COMMA = re.compile(r"[,;]| [-–—] |[–—]")
SOLD_READY = frozenset({"can", "jar"})
"""Of what they hold, "chopped" is a part of the name."""
CUT = re.compile(r"\b(cut|torn|broken|split|left|room temperature|\w+ed)\b")


@dataclass(slots=True)
class FoodWords:
    """What was read behind the amount; spans are places in the line."""

    food: str = ""
    preparation: str = ""
    note: str = ""
    unit: Unit | None = None
    measure: Measured | None = None
    measure_each: bool = False
    measure_of_all: bool = False
    food_span: tuple[int, int] | None = None
    preparation_span: tuple[int, int] | None = None
    note_span: tuple[int, int] | None = None
    unit_span: tuple[int, int] | None = None


def food_words(text: str, start: int, unit: Unit | None, words: Vocabulary, country: str | None) -> FoodWords:
    """Read a line from where its food begins (``start``); ``unit``: what was read before it."""
    found = FoodWords()
    preparations: list[tuple[int, int]] = []
    notes: list[tuple[int, int]] = []
    line = _without_brackets(text, start, words, country, found, preparations, notes)
    first, behind = _split(line, start, words)
    first = _note_in(line, first, words, notes)
    first = _without_leading(line, first, unit, words, preparations)
    first = _without_trailing(line, first, words, preparations)
    if unit is None:
        first = _trailing_unit(line, first, words, found)
    for part in behind:
        kept = _note_in(line, part, words, notes)
        if kept[0] < kept[1]:
            (preparations if _is_preparation(line, kept, words) else notes).append(kept)
    found.food_span = _stripped(line, first)
    found.food = " ".join(line[slice(*found.food_span)].split()) if found.food_span else ""
    found.preparation, found.preparation_span = _joined(text, preparations)
    found.note, found.note_span = _joined(text, notes)
    return found


def _without_brackets(
    text: str,
    start: int,
    words: Vocabulary,
    country: str | None,
    found: FoodWords,
    preparations: list[tuple[int, int]],
    notes: list[tuple[int, int]],
) -> str:
    """The line with blanks in the place of what stands in brackets, which is read."""
    line = text
    for match in BRACKETS.finditer(text, start):
        line = line[: match.start()] + " " * (match.end() - match.start()) + line[match.end() :]
        tokens = tokens_of(text, *match.span(1))
        measured = measured_at(tokens, 0, words, country)
        if measured is not None and measured[0].unit.measures and found.measure is None:
            more = {one.low for one in tokens[measured[1] :]}
            found.measure = measured[0]
            found.measure_each = bool(more & {"each", "apiece"})
            found.measure_of_all = bool(more & {"total", "all", "altogether"})
        elif match[1].strip():
            (preparations if _is_preparation(text, match.span(1), words) else notes).append(match.span(1))
    return line


def _split(line: str, start: int, words: Vocabulary) -> tuple[tuple[int, int], list[tuple[int, int]]]:
    """The part with the food, and the parts behind commas and dashes."""
    cuts = [match.span() for match in COMMA.finditer(line, start)]
    while cuts and _only_describes(line[start : cuts[0][0]], words):
        cuts.pop(0)
    ends = [cut[0] for cut in cuts] + [len(line)]
    starts = [cut[1] for cut in cuts]
    return (start, ends[0]), list(zip(starts, ends[1:], strict=True))


def _only_describes(part: str, words: Vocabulary) -> bool:
    tokens = tokens_of(part.lower())
    known = words.describing | words.preparations | words.manners
    return bool(tokens) and all(one.text in known for one in tokens)


def _note_in(line: str, span: tuple[int, int], words: Vocabulary, notes: list[tuple[int, int]]) -> tuple[int, int]:
    """The part before a note in it; the note is added to the notes."""
    low = line[span[0] : span[1]].lower()
    places = [match.start() for note in words.notes for match in re.finditer(rf"\b{re.escape(note)}\b", low)]
    if not places:
        return span
    cut = span[0] + min(places)
    notes.append((cut, span[1]))
    return span[0], cut


def _without_leading(
    line: str, span: tuple[int, int], unit: Unit | None, words: Vocabulary, preparations: list[tuple[int, int]]
) -> tuple[int, int]:
    """The food without "finely chopped" before it."""
    tokens = tokens_of(line, *span)
    if not tokens or (unit is not None and unit.id in SOLD_READY):
        return span
    count = max(_ready(tokens, words), default=0)
    if count == 0 or count == len(tokens):
        return span
    if tokens[count - 1].low == "minced" and any(one.low in words.kept_with for one in tokens[count:]):
        return span
    preparations.append((tokens[0].start, tokens[count - 1].end))
    return tokens[count].start, span[1]


def _without_trailing(
    line: str, span: tuple[int, int], words: Vocabulary, preparations: list[tuple[int, int]]
) -> tuple[int, int]:
    """The food without "finely chopped" behind it."""
    tokens = tokens_of(line, *span)
    for place in range(1, len(tokens)):
        if max(_ready(tokens[place:], words), default=0) == len(tokens) - place:
            preparations.append((tokens[place].start, tokens[-1].end))
            return span[0], tokens[place - 1].end
    return span


def _ready(tokens: list[Token], words: Vocabulary) -> Iterator[int]:
    """How many of the first words say how a food is made ready: "peeled and finely diced" are four."""
    place = 0
    while place < len(tokens):
        while place < len(tokens) and tokens[place].low in words.manners:
            place += 1
        if place == len(tokens) or tokens[place].low not in words.preparations:
            return
        place += 1
        yield place
        while place < len(tokens) and tokens[place].low in ("and", ",", "&"):
            place += 1


def _trailing_unit(line: str, span: tuple[int, int], words: Vocabulary, found: FoodWords) -> tuple[int, int]:
    """The food without the unit behind it: "garlic cloves"."""
    tokens = tokens_of(line, *span)
    if len(tokens) < 2:
        return span
    unit = unit_at(tokens, len(tokens) - 1, words)
    if unit is None or not unit[0].after_food:
        return span
    found.unit, found.unit_span = unit[0], (tokens[-1].start, tokens[-1].end)
    return span[0], tokens[-2].end


def _is_preparation(line: str, span: tuple[int, int], words: Vocabulary) -> bool:
    part = line[span[0] : span[1]].strip().lower()
    tokens = tokens_of(part)
    if not tokens or tokens[0].text in words.notes_behind_a_comma or tokens[0].text in words.about:
        return False
    if any(part.startswith(note) for note in words.notes):
        return False
    ready = words.preparations | words.parts
    return any(one.text in ready for one in tokens) or CUT.search(part) is not None


def _stripped(line: str, span: tuple[int, int]) -> tuple[int, int] | None:
    part = line[span[0] : span[1]]
    kept = re.sub(r" x$", "", part.strip(" \t.:,;-–*"))
    if not kept:
        return None
    start = span[0] + part.index(kept)
    return start, start + len(kept)


def _joined(text: str, spans: list[tuple[int, int]]) -> tuple[str, tuple[int, int] | None]:
    """The texts of several parts, and the place of the first."""
    kept = sorted(one for span in spans if (one := _stripped(text, span)) is not None)
    if not kept:
        return "", None
    return ", ".join(" ".join(text[slice(*one)].split()) for one in kept), kept[0]
