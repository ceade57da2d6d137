"""Turns a food in its amount into a vector of measures, and adds vectors up exactly.

Every amount is a whole number of parts (``SCALE`` of them in a unit). An unknown value is the interval from 0 upwards without
end, or up to the whole it is a part of (saturated fat: all of the fat); a rounded label figure is the
interval it stands for; both are carried as *interval entries* next to the nominal vector, so that known
foods cost nothing extra.
"""

from collections import Counter
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from service.domain.errors import BadAmount, UnknownName
from service.domain.foods.crediting import CreditingScheme, credited
from service.domain.foods.food import NOTHING_KNOWN, CreditOption, Figure, Food, PartlyKnown
from service.domain.measures import MEASURE_COUNT, MEASURE_INDEX, NUTRIENT_COUNT, PARTS_IN_A_THOUSANDTH, THOUSANDTHS
from service.domain.messages import message

HEAVIEST_ITEM_MG = 3_000_000
"""More than 3 kg of one item is not a lunch: a slip of the unit (a limit of ours)."""

MOST_OF_A_MEASURE = 80_000
"""No item of a lunch holds more units of any measure (200 g of salt hold as much sodium): a slip (a limit of ours)."""

WHOLE_OF_PART: dict[int, int] = {
    MEASURE_INDEX[part]: MEASURE_INDEX[whole]
    for part, whole in (
        ("saturated_fat_g", "fat_g"),
        ("fluid_milk_saturated_fat_g", "saturated_fat_g"),
        ("sugars_g", "carbohydrate_g"),
        ("added_sugars_g", "sugars_g"),
        ("free_sugars_g", "sugars_g"),
        ("nmes_g", "sugars_g"),
    )
}
"""A part cannot be more than its whole, by definition: the upper end of a missing part whose whole is known.

Fibre is not here: labels of some countries print carbohydrate without it.
"""

LIMITED_CREDITS = tuple(
    MEASURE_INDEX[measure]
    for measure in ("grain_dessert_oz_eq", "sweet_cracker_oz_eq", "fruit_juice_cup", "vegetable_juice_cup")
)
"""The credits that a standard sets a maximum for. Each is a part of what another credit counts.

``tests/reference/lunch/test_limited_credits.py`` holds this against the standards.
"""

WHOLE_OF_CREDIT: dict[int, int] = {
    MEASURE_INDEX[part]: MEASURE_INDEX[whole]
    for part, whole in (
        ("grain_dessert_oz_eq", "grain_oz_eq"),
        ("sweet_cracker_oz_eq", "grain_oz_eq"),
        ("whole_grain_rich_oz_eq", "grain_oz_eq"),
        ("fruit_juice_cup", "fruit_cup"),
        ("vegetable_juice_cup", "vegetable_cup"),
    )
}
"""A credit that is a part of another: a dessert of grains is credited as grains too (7 CFR 210.10(c))."""

IntervalEntry = tuple[int, int, int | None]
"""(measure index, lowest, highest or None for no end), in parts."""


@dataclass(frozen=True, slots=True, eq=False)
class ItemVector:
    """The measures of one item in its amount.

    ``nominal``: ``MEASURE_COUNT`` amounts in parts, unknown as 0. ``interval_entries``: the measures that are
    an interval.
    """

    nominal: tuple[int, ...]
    interval_entries: tuple[IntervalEntry, ...]


NOTHING = ItemVector((0,) * MEASURE_COUNT, ())
"""What adds nothing to a lunch, or a day on which nothing was eaten."""


@dataclass(frozen=True, slots=True, eq=False)
class Totals:
    """Sums over a lunch: ``nominal``, and ``low``/``high`` for the measures that are not exact."""

    nominal: Sequence[int]
    low: dict[int, int]
    high: dict[int, int | None]

    def lowest(self, measure: int) -> int:
        """The least the total can be."""
        return self.low.get(measure, self.nominal[measure])

    def highest(self, measure: int) -> int | None:
        """The most the total can be; None: no end."""
        return self.high[measure] if measure in self.high else self.nominal[measure]


class Portion(NamedTuple):
    """A food in an amount, as it is at hand, packed or to come in: ``amount_mg`` is what ``quantity`` of ``unit`` weighs.

    ``form``: how it is cut, where that is known; ``option``: the way it credits.
    """

    food: Food
    amount_mg: int
    quantity: float
    unit: str
    form: str | None = None
    option: CreditOption | None = None

    def vector(self, scheme: CreditingScheme | None, beside_mg: int = 0) -> "ItemVector":
        """Its measures, credited by the scheme; ``beside_mg``: of the same food, in the same lunch."""
        return item_vector(self.food, self.amount_mg, scheme, self.option, beside_mg)


def amount_mg_of(food: Food, quantity_thousandths: int, unit: str) -> int:
    """Weight in milligrams of so many units of a food.

    Parameters
    ----------
    quantity_thousandths: the quantity in whole thousandths (1.5 slices is 1500).
    unit: ``g`` or a household unit of the food.

    Raises ``UnknownName`` for a unit the food does not have, ``BadAmount`` for nothing or too much.

    >>> from service.reference.foods.catalogue import find_food
    >>> amount_mg_of(find_food("apple"), 1_500, "apple")  # one and a half apples of 182 g
    273000
    """
    if unit == "g" and food.weighable:
        per_unit = 1_000
    else:
        household = food.unit(unit)
        if household is None:
            known = [u.name for u in food.units] + (["g"] if food.weighable else [])
            raise UnknownName(
                field="unit",
                value=unit,
                kind=message("kind.unit-of", food=food.id),
                near=near_names(unit, known),
                known=message("help.it-has", names=list(known)),
            )
        per_unit = household.grams_mg
    if quantity_thousandths <= 0:
        raise BadAmount(
            field="quantity",
            value=quantity_thousandths / THOUSANDTHS,
            problem=message("fault.not-above-zero"),
        )
    # Half up, in whole numbers: floats would round some halves the other way.
    amount = (2 * quantity_thousandths * per_unit + 1000) // 2000
    if amount > HEAVIEST_ITEM_MG:
        raise BadAmount(
            field="quantity",
            value=f"{quantity_thousandths / THOUSANDTHS:g} {unit}",
            problem=message("fault.too-heavy", kg=round(amount / 1e6, 1), most=HEAVIEST_ITEM_MG / 1e6),
        )
    if amount > heaviest_mg(food):
        raise BadAmount(
            field="quantity",
            value=f"{quantity_thousandths / THOUSANDTHS:g} {unit}",
            problem=message("fault.too-much-of-a-measure", most=MOST_OF_A_MEASURE),
        )
    if amount == 0:
        raise BadAmount(
            field="quantity",
            value=f"{quantity_thousandths / THOUSANDTHS:g} {unit}",
            problem=message("fault.too-light"),
        )
    return amount


@lru_cache(maxsize=4096)
def heaviest_mg(food: Food) -> int:
    """The most of a food that one item of a lunch can be, in milligrams: so that sums of its measures stay within bounds."""
    most = HEAVIEST_ITEM_MG
    limit = MOST_OF_A_MEASURE * THOUSANDTHS * food.basis_mg
    for value in (*food.nutrients, *(high for _low, high in food.ranges.values())):
        if value and value * most > limit:
            most = int(limit // value)
    for option in food.credit_options:
        for credit in option.credits:
            if credit.per_basis * most > MOST_OF_A_MEASURE * food.basis_mg:
                most = int(MOST_OF_A_MEASURE * food.basis_mg // credit.per_basis)
    return most


def near_names(name: str, known: Iterable[str]) -> list[str]:
    """Up to three known names that look like ``name``.

    >>> near_names("aple", ["apple", "milk-skim", "maple-syrup"])
    ['apple']
    """
    from difflib import get_close_matches

    return get_close_matches(name, list(known), n=3, cutoff=0.6)


def credit_option(food: Food, wanted: str | None) -> CreditOption | None:
    """The way the food credits: the wanted one, or its first.

    Raises ``UnknownName`` for a way that the food has not.
    """
    if wanted is None:
        return food.credit_options[0] if food.credit_options else None
    for option in food.credit_options:
        if option.name == wanted:
            return option
    known = [option.name for option in food.credit_options]
    raise UnknownName(
        field="credit_as",
        value=wanted,
        kind=message("kind.way-to-credit", food=food.id),
        known=message("help.can-credit-as", names=known) if known else message("help.does-not-credit"),
    )


def item_vector(
    food: Food,
    amount_mg: int,
    scheme: CreditingScheme | None,
    option: CreditOption | None = None,
    beside_mg: int = 0,
) -> ItemVector:
    """The measures of ``amount_mg`` of a food, credits rounded by the scheme (none without one).

    Remembered for foods of the reference tables, which do not change while the program runs.

    ``amount_mg``: milligrams, above 0; ``option``: the way it credits. ``beside_mg``: how much of the same food, credited the
    same way, the lunch holds already: its credits are what it adds to that, so that a food is rounded once for a lunch.
    Source: ours; credits are rounded by the scheme.

    >>> from service.reference.foods.catalogue import find_food
    >>> apple = item_vector(find_food("apple"), 182_000, None)
    >>> apple.nominal[MEASURE_INDEX["energy_kcal"]]  # 52 kcal in 100 g (USDA SR28)
    9464000000
    """
    # A label food lives as long as its request; remembering it would push out foods of the tables.
    if food.kind == "label":
        return _vector(food, amount_mg, scheme, option, beside_mg)
    return _remembered(food, amount_mg, scheme, option, beside_mg)


def _vector(
    food: Food, amount_mg: int, scheme: CreditingScheme | None, option: CreditOption | None, beside_mg: int
) -> ItemVector:
    basis = food.basis_mg
    twice = 2 * basis
    # Figures are thousandths, amounts are finer. Those of a dish are fractions, rounded here without making others on the way.
    parts = amount_mg * PARTS_IN_A_THOUSANDTH
    nominal: list[int] = [
        0 if value is None else (2 * value.numerator * parts + basis * value.denominator) // (twice * value.denominator)
        for value in food.nutrients
    ]
    nominal += [0] * (MEASURE_COUNT - NUTRIENT_COUNT)
    interval_entries: list[IntervalEntry] = []
    # Ends are rounded outwards, so that the true amount is never outside its interval.
    if None in food.nutrients or food.ranges:
        for measure, value in enumerate(food.nutrients):
            if value is None:
                known, least, most = known_of_missing(food, measure)
                nominal[measure] = (2 * known * parts + basis) // twice
                highest = None if most is None else -(-most * parts // basis)
                interval_entries.append((measure, least * parts // basis, highest))
        for measure, (low, high) in sorted(food.ranges.items()):
            interval_entries.append((measure, low * parts // basis, -(-high * parts // basis)))
    if scheme is not None and option is not None:
        for measure, value in credited(option, amount_mg + beside_mg, basis, scheme):
            nominal[measure] = value
        if beside_mg:
            for measure, value in credited(option, beside_mg, basis, scheme):
                nominal[measure] -= value
    # Nobody said what it credits as: it counts for nothing towards a minimum, and is unknown towards a maximum.
    if scheme is not None and not food.credits_known:
        interval_entries.extend((measure, nominal[measure], None) for measure in LIMITED_CREDITS)
    return ItemVector(tuple(nominal), tuple(interval_entries))


def credited_as(food: Food, option: CreditOption | None) -> Hashable:
    """What two items of a lunch have alike if they are one food to be credited together."""
    return food.id, food.name, food.basis_mg, None if option is None else option.credits


def beside_each(items: Sequence[tuple[Food, CreditOption | None, int]]) -> list[int]:
    """For each item of a lunch (food, way of crediting, milligrams) how much of the same food comes before it.

    Source: the Food Buying Guide rounds the credit of a food down once; a food given in several lines is still one food.
    """
    if len({food.id for food, _option, _amount in items}) == len(items):
        return [0] * len(items)
    so_far: Counter[Hashable] = Counter()
    found = []
    for food, option, amount_mg in items:
        same = credited_as(food, option)
        found.append(so_far[same])
        so_far[same] += amount_mg
    return found


def with_credits_open(vector: ItemVector) -> ItemVector:
    """The vector with every credit unknown upwards: of a meal that nobody can look at, such as a bought lunch."""
    nutrients = tuple(entry for entry in vector.interval_entries if entry[0] < NUTRIENT_COUNT)
    credits = tuple((measure, vector.nominal[measure], None) for measure in range(NUTRIENT_COUNT, MEASURE_COUNT))
    return ItemVector(vector.nominal, nutrients + credits)


def most_of_missing(food: Food, measure: int) -> Figure | None:
    """The most a missing value can be, for ``basis_mg``: at most all of the whole it is a part of; None: no end.

    ``measure``: its index. The answer is in thousandths. Source: by definition, a part is not more than its whole.

    >>> from service.reference.foods.catalogue import find_food
    >>> clementine = find_food("clementine")
    >>> most_of_missing(clementine, MEASURE_INDEX["added_sugars_g"]) == clementine.nutrients[MEASURE_INDEX["sugars_g"]]
    True
    """
    own = food.partly[measure].most if measure in food.partly else None
    whole = WHOLE_OF_PART.get(measure)
    if whole is None:
        return own
    value = food.nutrients[whole]
    if value is None:
        of_whole = most_of_missing(food, whole)
    else:
        of_whole = food.ranges[whole][1] if whole in food.ranges else value
    return of_whole if own is None else own if of_whole is None else min(own, of_whole)


def known_of_missing(food: Food, measure: int) -> PartlyKnown:
    """What is known of a value that is missing, for ``basis_mg``: a known part is its lower end.

    ``measure``: its index. Thousandths. Source: by definition, a whole is not less than its parts.
    """
    return food.partly.get(measure, NOTHING_KNOWN)._replace(most=most_of_missing(food, measure))


def figure_of(food: Food, measure: int) -> PartlyKnown:
    """What is known of any figure, for ``basis_mg``: all three ends are alike where it is exact.

    ``measure``: its index. Thousandths.
    """
    value = food.nutrients[measure]
    if value is None:
        return known_of_missing(food, measure)
    return PartlyKnown(value, *food.ranges.get(measure, (value, value)))


_remembered = lru_cache(maxsize=4096)(_vector)


def add_up(vectors: Sequence[ItemVector]) -> Totals:
    """Sum the items of a lunch; exact, so their order does not matter.

    ``vectors``: one at least. Totals are in whole parts. Source: ours.

    >>> from service.reference.foods.catalogue import find_food
    >>> apple = item_vector(find_food("apple"), 100_000, None)
    >>> add_up([apple, apple]).lowest(MEASURE_INDEX["energy_kcal"])
    10400000000
    """
    nominal = list(map(sum, zip(*[vector.nominal for vector in vectors], strict=True)))
    low: dict[int, int] = {}
    high: dict[int, int | None] = {}
    for vector in vectors:
        # The sum of the nominal amounts, moved by how far each uncertain item's ends lie from its own nominal amount.
        for measure, lowest, highest in vector.interval_entries:
            value = vector.nominal[measure]
            low[measure] = low.get(measure, nominal[measure]) + lowest - value
            so_far = high.get(measure, nominal[measure])
            high[measure] = None if highest is None or so_far is None else so_far + highest - value
    return Totals(nominal, low, high)


def sum_of(vectors: Sequence[ItemVector]) -> ItemVector:
    """Several items (or days) as one; none at all is nothing.

    Source: ours.
    """
    return vector_of(add_up(vectors)) if vectors else NOTHING


def vector_of(totals: Totals) -> ItemVector:
    """Totals as a vector that can be added to others."""
    interval_entries = tuple((measure, low, totals.high[measure]) for measure, low in sorted(totals.low.items()))
    return ItemVector(tuple(totals.nominal), interval_entries)
