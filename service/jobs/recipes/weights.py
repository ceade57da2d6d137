"""What a line weighs of a food: by its weight, by its volume and a cup or spoon of the food, or by the pieces that the tables know.

What is not known is asked: a volume never becomes a weight without a measure of the food, and the weight of a whole fruit is not taken
for its juice.
"""

import re
from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple

from service.domain.foods.food import Food, HouseholdUnit
from service.domain.messages import Message, message
from service.domain.recipes.lines import LineReading
from service.domain.recipes.quantities import Measured
from service.domain.recipes.vocabulary import Unit
from service.jobs.recipes.eggs import egg_of
from service.reference.foods.catalogue import find_food
from service.reference.foods.lunch_foods import composed_of
from service.reference.foods.search import fold, stems
from service.reference.recipes.usual_foods import more_measures
from service.reference.recipes.words import vocabulary

MOST_MG = 50_000_000
TABLE_COUNTRY = "US"
"""Whose cups and spoons the measures of the tables are."""
PARTS_OF_A_PIECE = {"half": Fraction(1, 2), "third": Fraction(1, 3), "quarter": Fraction(1, 4)}
PARTS_OF_A_CUP = {"half cup": Fraction(1, 2), "third cup": Fraction(1, 3), "quarter cup": Fraction(1, 4)}
SPELT_OUT = {"tablespoon": "tbsp", "teaspoon": "tsp", "liter": "l"}
IN_BRACKETS = re.compile(r"\s*\([^)]*\)")
USUAL_SIZES = frozenset({"", "medium", "medium-sized", "level"})
"""Sizes for which the measure without a size holds."""
WITH_LIQUID = frozenset({"can", "jar"})


class Weight(NamedTuple):
    """Milligrams, and how they came about: a message of the group ``weighed``."""

    mg: int
    how: Message


def weight_of(reading: LineReading, food: Food, country: str | None, eggs_from: str | None = None) -> Weight | Message:
    """What a line weighs of a food; where it cannot be known, the doubt (a message of the group ``doubt``).

    ``country``: whose cups are meant, as for the reading; a reading with doubts about its amount is not weighed.
    ``eggs_from``: the country where eggs are bought, by whose sizes they are weighed; the same one if left out.
    """
    assert reading.amount is not None  # noqa: S101 - asked for before
    if _only_a_part(reading):
        return message("doubt.part-of-food", part=reading.preparation)
    whole = _whole(reading, reading.amount)
    if whole is None:
        egg = egg_of(reading, food, eggs_from or country)
        if egg is not None:
            return _checked(reading.amount * egg.mg, egg.how)
        return _by_pieces(reading, reading.amount, food)
    if reading.unit is not None and reading.unit.id in WITH_LIQUID and "drain" in reading.preparation.lower():
        return message("doubt.drained", unit=reading.unit.id)
    total, how = Fraction(0), message("weighed.by-weight")
    for measured in whole:
        size = measured.unit.size(country)
        if size is None:
            return message("doubt.which-country", unit=measured.unit.id)
        if measured.unit.kind == "mass":
            total += measured.amount * size
            continue
        found = _mg_in_a_ml(food, reading.preparation, measured, measured.amount * size)
        if found is None:
            return message("doubt.no-volume", food=food.name)
        mg_in_a_ml, measure = found
        total += measured.amount * size / 1000 * mg_in_a_ml
        how = message("weighed.by-volume", measure=measure.name, grams=measure.grams_mg / 1000)
    return _checked(total, how)


def _whole(reading: LineReading, amount: Fraction) -> list[Measured] | None:
    """The weights or volumes that make up the line; None for what is counted."""
    unit = reading.unit
    on_top = [] if reading.plus is None else [reading.plus]
    if unit is not None and unit.kind == "mass":
        return [Measured(amount, unit), *on_top]
    if reading.beside is not None and reading.beside.unit.measures:
        return [reading.beside]
    if reading.pack is not None and reading.pack.unit.measures:
        return [Measured(amount * reading.pack.amount, reading.pack.unit)]
    if unit is not None and unit.kind == "volume":
        return [Measured(amount, unit), *on_top]
    return None


def _only_a_part(reading: LineReading) -> bool:
    """Whether a counted fruit gives only its juice or zest."""
    counted = reading.unit is None or not reading.unit.measures
    words = {one.strip("s,") for one in fold(reading.preparation).split()}
    return counted and reading.beside is None and bool(words & (vocabulary().parts | {"juiced", "zested"}))


def _measures_of(food: Food) -> Iterator[HouseholdUnit]:
    yield from food.units
    yield from more_measures(food.id)


class _ByVolume(NamedTuple):
    """A measure of a food by volume: its microlitres, and how the food in it is cut; empty: not cut."""

    measure: HouseholdUnit
    ul: Fraction
    way: str


def _mg_in_a_ml(
    food: Food, preparation: str, measured: Measured, ul: Fraction
) -> tuple[Fraction, HouseholdUnit] | None:
    """What a millilitre of a food weighs, and the measure it is worked out from: cut as the line says, else not cut.

    Of several measures that of the line's own unit is taken ("tbsp"), else the one nearest in size to the line, so that a cup is not
    worked out from a teaspoon where a cup is known. ``ul``: the line's volume in microlitres.

    None where no cup or spoon of it is known, or several that are cut otherwise.
    """
    measures = [*_measures_of(food), *_measures_of_the_table(food)]
    known = [one for measure in measures if (one := _by_volume(measure)) is not None]
    wanted = set(stems(fold(preparation)))
    unit_ul = measured.unit.size(TABLE_COUNTRY) or ul

    def how_far(one: _ByVolume) -> tuple[bool, Fraction]:
        return one.ul != unit_ul, max(one.ul / ul, ul / one.ul)

    as_cut = [one for one in known if _is_cut(one.way, wanted)]
    if not as_cut and known:
        # A spoon of it that is not said to be cut does not speak for a cup, where cups are known as chopped or sliced.
        nearest = min(map(how_far, known))
        as_cut = [one for one in known if how_far(one) == nearest]
        uncut = [one for one in as_cut if not one.way]
        if not uncut and len({one.way for one in as_cut}) > 1:
            return None
        as_cut = uncut or as_cut
    if not as_cut:
        return None
    taken = min(as_cut, key=how_far)
    return taken.measure.grams_mg * 1000 / taken.ul, taken.measure


def _is_cut(way: str, wanted: set[str]) -> bool:
    """Whether a measure's food is cut as a line says: "sliced" is "slices"."""
    if not way:
        return False
    return bool(wanted & set(stems(fold(way)))) or any(stems(way)[0][:4] == word[:4] for word in wanted)


def _measures_of_the_table(food: Food) -> Sequence[HouseholdUnit]:
    """Those of the food of the composition tables that a lunch food has its figures from."""
    composed = composed_of(food.id)
    generic = None if composed is None else find_food(composed)
    return () if generic is None else generic.units


def _by_volume(measure: HouseholdUnit) -> _ByVolume | None:
    found = _volume_named(measure.name)
    return None if found is None else _ByVolume(measure, *found)


def _volume_named(name: str) -> tuple[Fraction, str] | None:
    """The microlitres of a measure of the tables, and how its food is cut: "half cup chopped"; None for any other measure.

    What stands in brackets does not say how it is cut: "cup (8 fl oz)".
    """
    name = IN_BRACKETS.sub("", name)
    cup = vocabulary().by_id["cup"].size(TABLE_COUNTRY)
    assert cup is not None  # noqa: S101 - a US cup has a size
    for known, share in PARTS_OF_A_CUP.items():
        if name.startswith(known):
            return share * cup, name[len(known) :].strip()
    for known in ("cup", "tbsp", "tsp", "fl oz", *SPELT_OUT):
        if name == known or name.startswith(f"{known} "):
            size = vocabulary().by_id[SPELT_OUT.get(known, known)].size(TABLE_COUNTRY)
            return None if size is None else (size, name[len(known) :].strip())
    return None


def _by_pieces(reading: LineReading, amount: Fraction, food: Food) -> Weight | Message:
    """By a measure of the food: "2 slices", "3 large eggs"."""
    unit: Unit | None = reading.unit
    named = [measure for measure in _measures_of(food) if _is_one_piece(measure.name)]
    heads = stems(fold(reading.food))
    pieces = (
        [one for one in named if _is_called(_without_size(one.name), heads)]
        if unit is None
        else [one for one in named if one.name == unit.id or one.name.endswith(f" {unit.id}")]
    )
    size = reading.size.lower()
    plain = [one for one in pieces if _without_size(one.name) == one.name]
    fitting = [one for one in pieces if size not in USUAL_SIZES and one.name.startswith(f"{size} ")]
    if size in USUAL_SIZES:
        fitting = [one for one in pieces if size.startswith("medium") and one.name.startswith("medium ")] or plain
        if not fitting and not size and len(pieces) == 1:
            fitting = pieces
    if not fitting:
        return message("doubt.no-weight", food=food.name)
    measure = fitting[0]
    return _checked(
        amount * measure.grams_mg / PARTS_OF_A_PIECE.get(measure.name.split()[0], 1),
        message("weighed.by-piece", measure=measure.name, grams=measure.grams_mg / 1000),
    )


def _is_one_piece(name: str) -> bool:
    """Whether a measure can be one piece: a cup is none, nor is what says how many or how large, as in "cup (4.86 large eggs)"."""
    return _volume_named(name) is None and not any(map(str.isdigit, name))


def _is_called(name: str, heads: Sequence[str]) -> bool:
    """Whether a piece is what the line says: a "pepper" for bell peppers, but no "plum tomato" for tomatoes; also a part of it."""
    first, _space, rest = name.partition(" ")
    words = stems(fold(rest if first in PARTS_OF_A_PIECE else name))
    return bool(words) and list(heads[-len(words) :]) == list(words)


def _without_size(name: str) -> str:
    """A measure's name without the size before it."""
    first, _space, rest = name.partition(" ")
    return rest if rest and first in vocabulary().sizes else name


def _checked(mg: Fraction, how: Message) -> Weight | Message:
    whole = round(mg)
    if not 0 < whole <= MOST_MG:
        return message("doubt.too-much", grams=round(float(mg / 1000), 3))
    return Weight(whole, how)
