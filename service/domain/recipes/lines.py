"""Reads a line of ingredients: how much of what unit, which food, how it is made ready.

What can be read in two ways, or says too little to be weighed, is marked with a doubt (a message of the group ``doubt``) and goes to
the person; nothing is turned into another unit without a word. Which food of the tables it is, and what it weighs, is left to the jobs.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import pairwise

from service.domain.messages import Message, message
from service.domain.recipes.amounts_in_line import Opening, opening_of
from service.domain.recipes.food_words import FoodWords, food_words
from service.domain.recipes.quantities import Measured, unit_at
from service.domain.recipes.tokens import FRACTION_SIGNS, tokens_of
from service.domain.recipes.vocabulary import Unit, Vocabulary

KEPT_BACK = frozenset({"extra", "more", "for", "to"})
"""What says that an amount of a note does not go in: "plus 2 tbsp for dusting", "plus 4 to serve"."""
Span = tuple[int, int]
"""First character and the one behind the last, in the line."""


@dataclass(frozen=True, slots=True)
class LineReading:
    """What a line says.

    ``amount``, ``amount_to``: how many of the unit; the other end of a range. ``unit``: None for what is counted ("2 eggs").
    ``pack``: what one unit holds ("14 oz"). ``beside``: the whole in another measure ("(240 ml)"). ``plus``: what comes on top
    ("plus 2 tbsp"). ``size``: of the food or the measure ("large"). ``spans``: where in the line each was read.
    """

    text: str
    amount: Fraction | None = None
    amount_to: Fraction | None = None
    unit: Unit | None = None
    pack: Measured | None = None
    beside: Measured | None = None
    plus: Measured | None = None
    size: str = ""
    food: str = ""
    preparation: str = ""
    note: str = ""
    spans: Mapping[str, Span] = field(default_factory=dict)
    doubts: tuple[Message, ...] = ()


def read_line(text: str, words: Vocabulary, country: str | None = None) -> LineReading:
    """Read one line.

    ``country``: two capital letters (ISO 3166) whose cups, pints and fluid ounces are meant; None: not known, so that they are asked.

    >>> from service.reference.recipes.words import vocabulary
    >>> line = read_line("1 (14 oz) can black beans, drained", vocabulary())
    >>> float(line.amount), line.unit.id, float(line.pack.amount), line.pack.unit.id, line.food, line.preparation
    (1.0, 'can', 14.0, 'oz', 'black beans', 'drained')
    >>> read_line("half a cucumber", vocabulary()).amount
    Fraction(1, 2)
    >>> [one.code for one in read_line("1 cup milk", vocabulary()).doubts]
    ['doubt.which-country']
    """
    opening, rest = _opening_and_rest(text, words, country)
    if opening.amount is None and _is_heading(text):
        return LineReading(text, doubts=(message("doubt.heading"),))
    unit, food, unit_or_food = opening.unit, rest.food, False
    if unit is None:
        unit = rest.unit
    elif not food and opening.unit_span is not None and not unit.measures:
        food, unit, unit_or_food = text[slice(*opening.unit_span)], None, True
    pack, beside = _measures(opening, rest, unit)
    reading = LineReading(
        text=text,
        amount=opening.amount,
        amount_to=opening.amount_to,
        unit=unit,
        pack=pack,
        beside=beside,
        plus=opening.plus,
        size=opening.size,
        food=food,
        preparation=", ".join(filter(None, (opening.preparation, rest.preparation))),
        note=rest.note,
        spans=_spans(opening, rest, unit_or_food),
    )
    return replace(reading, doubts=tuple(_doubts(reading, opening, rest, words, country, unit_or_food)))


def _opening_and_rest(text: str, words: Vocabulary, country: str | None) -> tuple[Opening, FoodWords]:
    """The amount and the food; the amount may also stand last: "flour 200 g", "milk, 1 cup"."""
    tokens = tokens_of(text)
    opening = opening_of(text, tokens, words, country)
    if opening.amount is None:
        for place in range(1, len(tokens)):
            last = opening_of(text, tokens[place:], words, country)
            if tokens[place].text[0].isnumeric() and last.amount is not None and last.end == len(text):
                return last, food_words(text[: tokens[place].start], 0, last.unit, words, country)
    return opening, food_words(text, opening.end, opening.unit, words, country)


def _measures(opening: Opening, rest: FoodWords, unit: Unit | None) -> tuple[Measured | None, Measured | None]:
    """What one unit holds, and the whole in another measure."""
    pack, beside = opening.pack, opening.beside
    if rest.measure is not None:
        in_a_container = unit is not None and unit.kind == "container" and not rest.measure_of_all
        if pack is None and (rest.measure_each or in_a_container):
            pack = rest.measure
        elif beside is None:
            beside = rest.measure
    return pack, beside


def _spans(opening: Opening, rest: FoodWords, unit_or_food: bool) -> dict[str, Span]:
    given: dict[str, Span | None] = {
        "amount": opening.amount_span,
        "unit": opening.unit_span or rest.unit_span,
        "food": rest.food_span,
        "preparation": rest.preparation_span,
        "note": rest.note_span,
    }
    if unit_or_food:
        given |= {"unit": None, "food": opening.unit_span}
    return {name: span for name, span in given.items() if span is not None}


def _doubts(
    reading: LineReading, opening: Opening, rest: FoodWords, words: Vocabulary, country: str | None, unit_or_food: bool
) -> list[Message]:
    found: list[Message] = []
    if reading.amount is None:
        found.append(message("doubt.no-amount"))
    elif reading.amount == 0:
        found.append(message("doubt.number-which", text=reading.text[slice(*(opening.amount_span or (0, 0)))]))
    if not opening.sure:
        found.append(message("doubt.number-which", text=reading.text[slice(*(opening.amount_span or (0, 0)))]))
    if reading.amount is not None and reading.amount_to is not None:
        found.append(message("doubt.range", low=float(reading.amount), high=float(reading.amount_to)))
    measured = [one.unit for one in (reading.pack, reading.plus) if one is not None]
    units = [*([] if reading.unit is None else [reading.unit]), *measured]
    if reading.beside is None:
        unsized = dict.fromkeys(one.id for one in units if one.kind == "volume" and one.size(country) is None)
        found.extend(message("doubt.which-country", unit=unit) for unit in unsized)
        ounces = any(one.id == "oz" for one in units) and not any(one.kind == "volume" for one in units)
        if ounces and _is_poured(reading.food, words):
            found.append(message("doubt.weight-or-volume", food=reading.food))
    elif reading.beside.unit.size(country) is None and reading.beside.unit.kind == "volume":
        found.append(message("doubt.which-country", unit=reading.beside.unit.id))
    found += _doubts_of_unit(reading, opening, rest)
    if unit_or_food:
        found.append(message("doubt.unit-or-food", text=reading.food))
    if not reading.food:
        found.append(message("doubt.no-food"))
    elif _names_two(reading.food, words):
        found.append(message("doubt.two-foods", food=reading.food))
    if any(one.isdigit() for one in _without_percent(reading.food)) or _names_unit(reading.food, words):
        found.append(message("doubt.more-numbers", text=reading.food))
    elif _adds_more(reading.note, words):
        found.append(message("doubt.more-numbers", text=reading.note))
    return found


def _doubts_of_unit(reading: LineReading, opening: Opening, rest: FoodWords) -> list[Message]:
    unit = reading.unit
    if opening.length and reading.beside is None and reading.pack is None:
        return [message("doubt.loose-measure", unit=reading.size)]
    if unit is None:
        return []
    if (unit.kind == "loose" and reading.beside is None and reading.pack is None) or opening.heaped:
        return [message("doubt.loose-measure", unit=reading.text[slice(*(opening.unit_span or (0, 0)))] or unit.id)]
    if unit.kind == "container" and reading.beside is None:
        if reading.pack is None:
            return [message("doubt.pack-size", unit=unit.id)]
        one = reading.amount == 1 and reading.amount_to is None
        if reading.pack is rest.measure and not rest.measure_each and not one:
            size = f"{float(reading.pack.amount):g} {reading.pack.unit.id}"
            return [message("doubt.each-or-all", unit=unit.id, size=size)]
    return []


def _is_heading(text: str) -> bool:
    """Whether a line without an amount only names a part of the recipe: "For the dressing:"."""
    stripped = text.strip()
    return stripped.endswith(":") or (stripped.lower().startswith("for the ") and "," not in stripped)


def _is_poured(food: str, words: Vocabulary) -> bool:
    """Whether what is named is measured by volume: "skimmed milk", but not "tuna in water"."""
    head: list[str] = []
    for token in tokens_of(food.lower()):
        if token.text in ("in", "with", "for", "from"):
            break
        head.append(token.text)
    return bool(head) and (head[-1] in words.poured or head[-1].removesuffix("s") in words.poured)


def _names_two(food: str, words: Vocabulary) -> bool:
    low = food.lower()
    if any(one in low for one in words.one_food):
        return False
    return any(one.low in ("or", "and", "&", "and/or") or one.text in "/+" for one in tokens_of(food))


def _adds_more(note: str, words: Vocabulary) -> bool:
    """Whether a note adds an amount that goes in: "plus 1 egg yolk", but not "plus 1 tbsp extra for dusting"."""
    tokens = tokens_of(note.lower())
    if any(one.text in KEPT_BACK for one in tokens):
        return False
    return any(
        one.text in ("plus", "+") and (then.is_number or then.text in FRACTION_SIGNS or then.text in words.numbers)
        for one, then in pairwise(tokens)
        if then.text not in ("a", "an")
    )


def _names_unit(food: str, words: Vocabulary) -> bool:
    """Whether a measure is still among the words of the food: "a cup of milk"."""
    tokens = tokens_of(food.lower())
    found = [unit_at(tokens, place, words) for place in range(len(tokens))]
    return any(
        unit is not None and unit[0].measures and len(tokens[place].text) > 1 for place, unit in enumerate(found)
    )


def _without_percent(food: str) -> str:
    """The words without "2%" and the like, which is a number that belongs to the food."""
    tokens = tokens_of(food)
    kept = [
        one.text
        for place, one in enumerate(tokens)
        if not (one.is_number and place + 1 < len(tokens) and tokens[place + 1].text == "%")
    ]
    return " ".join(kept)
