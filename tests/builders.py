"""Short ways to build foods, items and tables for tests; figures are given in the measure's own unit.

A food built here knows everything (0 where nothing is said) unless a measure is named as unknown, so
that a test says exactly what it means by "not known".
"""

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from service.domain.foods.amounts import ItemVector, Totals, add_up, item_vector
from service.domain.foods.crediting import (
    CreditingScheme,
    merge_credits,
)
from service.domain.foods.food import AllergenProfile, CreditOption, Food, FoodKind, Handling, HouseholdUnit
from service.domain.lunch.compiling import compile_targets
from service.domain.lunch.findings import Judgement, judge
from service.domain.lunch.standards import TargetTable
from service.domain.measures import MEASURE_COUNT, MEASURE_INDEX, NUTRIENT_COUNT, SCALE, THOUSANDTHS
from service.reference.allergens.vocabulary import vocabulary
from service.reference.lunch.standards import crediting_scheme, standard
from tests.crediting import credits_from_amount, credits_from_grams_per_unit

Number = int | str | Decimal | Fraction
"""No floats: a figure is written as it is printed."""

GRAMS_PER_OUNCE = Fraction("28.349523125")
"""The avoirdupois ounce by definition (0.45359237 kg / 16)."""


def thousandths(figure: Number) -> int:
    """A figure in whole thousandths; refuses one that does not fit."""
    exact = Fraction(str(figure)) * THOUSANDTHS
    assert exact.denominator == 1, f"{figure} has more than three places"
    return int(exact)


def parts(amount: Number) -> int:
    """An amount of an item or a sum in whole parts (``SCALE``); refuses one that does not fit."""
    exact = Fraction(str(amount)) * SCALE
    assert exact.denominator == 1, f"{amount} has more than eight places"
    return int(exact)


def milligrams(grams: Number) -> int:
    """Grams as whole milligrams, to the nearest."""
    return round(Fraction(str(grams)) * 1000)


def food(
    name: str = "sample food",
    figures: Mapping[str, Number] | None = None,
    *,
    basis_g: Number = 100,
    unknown: Iterable[str] = (),
    ranges: Mapping[str, tuple[Number, Number]] | None = None,
    credits: Mapping[str, Number] | None = None,
    grams_per_unit: Mapping[str, Number] | None = None,
    kind: FoodKind = "label",
    product_kind: str = "",
    allergens: AllergenProfile | None = None,
    units: Iterable[HouseholdUnit] = (),
    handling: Handling | None = None,
    weighable: bool = True,
) -> Food:
    """A food with these figures for ``basis_g`` of it.

    ``credits``: component -> cups or ounce equivalents in ``basis_g``. ``grams_per_unit``: component ->
    grams that make one cup or ounce equivalent.
    """
    basis_mg = milligrams(basis_g)
    nutrients: list[int | None] = [0] * NUTRIENT_COUNT
    for measure, figure in (figures or {}).items():
        nutrients[MEASURE_INDEX[measure]] = thousandths(figure)
    for measure in unknown:
        nutrients[MEASURE_INDEX[measure]] = None
    named = [credits_from_amount(part, Fraction(str(amount))) for part, amount in (credits or {}).items()]
    named += [
        credits_from_grams_per_unit(part, milligrams(grams), basis_mg) for part, grams in (grams_per_unit or {}).items()
    ]
    merged = merge_credits(tuple(credit for group in named for credit in group))
    return Food(
        id=name.replace(" ", "-"),
        name=name,
        kind=kind,
        basis_mg=basis_mg,
        nutrients=tuple(nutrients),
        source="a test",
        ranges={
            MEASURE_INDEX[measure]: (thousandths(low), thousandths(high))
            for measure, (low, high) in (ranges or {}).items()
        },
        credit_options=(CreditOption("test", merged),) if merged else (),
        units=tuple(units),
        allergens=allergens or AllergenProfile({}),
        handling=handling or Handling(),
        product_kind=product_kind,
        weighable=weighable,
    )


def us_scheme() -> CreditingScheme:
    """The US school-meal crediting scheme as shipped."""
    scheme = crediting_scheme("us-school-meals")
    assert scheme is not None
    return scheme


def vector(one: Food, grams: Number, *, option: int = 0, scheme: CreditingScheme | None = None) -> ItemVector:
    """The measures of so many grams of a food, credited by its first way unless another is named."""
    chosen = one.credit_options[option] if one.credit_options else None
    return item_vector(one, milligrams(grams), scheme or us_scheme(), chosen)


def measured(figures: Mapping[str, Number]) -> ItemVector:
    """An item known by its measures alone, credits too, each in its unit and 0 where nothing is said."""
    nominal = [0] * MEASURE_COUNT
    for measure, figure in figures.items():
        nominal[MEASURE_INDEX[measure]] = parts(figure)
    return ItemVector(tuple(nominal), ())


def amount(vectors: ItemVector | Totals, measure: str) -> Fraction:
    """The nominal amount of a measure in its unit, exact."""
    return Fraction(vectors.nominal[MEASURE_INDEX[measure]], SCALE)


def table(standard_id: str, group: str, on: date) -> TargetTable:
    """A shipped standard compiled for an age group by name and a day."""
    known = standard(standard_id)
    return compile_targets(known, known.group(group), on)


def judged(targets: TargetTable, vectors: Iterable[ItemVector], *, week: bool = False) -> dict[str, Judgement]:
    """All single-lunch targets (or the week's) judged over these items, by target id."""
    totals = add_up(list(vectors))
    return {target.id: judge(target, totals) for target in (targets.week_targets if week else targets.targets)}


def related_to(allergen: str) -> frozenset[str]:
    """All allergens whose presence concerns somebody who avoids this one: itself, its members and the groups above it."""
    known = vocabulary()
    assert allergen in known.allergens
    return known.members_of(allergen) | known.groups_of(allergen) | {allergen}


def placeless(reply: dict[str, Any]) -> dict[str, Any]:
    """The reply without the places of the items in the request, which follow the order in which they were sent."""
    rows = ("items", "findings", "allergens", "handling", "changes")
    places = ("item", "item_id", "places", "item_ids")
    return reply | {name: [{k: v for k, v in row.items() if k not in places} for row in reply[name]] for name in rows}
