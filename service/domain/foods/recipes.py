"""A dish from its foods and grams: nutrients, credits and allergens are computed, never typed.

Method: value per 100 g = 100 * sum(grams * value / 100) / (sum(grams) * (1 + moisture change)); water
gains what the weight gains. Source: USDA FNDDS documentation (foods without retention factors).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from typing import NamedTuple

from service.domain.errors import BadAmount
from service.domain.foods.amounts import figure_of
from service.domain.foods.crediting import merge_credits
from service.domain.foods.food import (
    AllergenProfile,
    Containment,
    Credit,
    CreditOption,
    Figure,
    Food,
    Handling,
    HouseholdUnit,
    PartlyKnown,
    Piece,
    worse,
)
from service.domain.measures import ENERGY, MEASURE_INDEX, NUTRIENT_COUNT
from service.domain.messages import message

WATER = MEASURE_INDEX["water_g"]


@dataclass(frozen=True, slots=True)
class Ingredient:
    """One food of a recipe, in milligrams as put in, and the way it credits."""

    food: Food
    amount_mg: int
    option: CreditOption | None
    form: str | None = None
    """How it is cut in the dish; None: not said."""


def compose(
    *,
    recipe_id: str,
    name: str,
    ingredients: Sequence[Ingredient],
    weight_change_percent: Fraction = Fraction(0),
    units: Sequence[HouseholdUnit] = (),
    discretionary_share: Fraction = Fraction(1, 2),
    search_words: Sequence[str] = (),
    note: str = "",
) -> Food:
    """Put a recipe together as a food; its ``basis_mg`` is the whole yield, its figures are exact fractions.

    Parameters
    ----------
    weight_change_percent: gain or loss of weight by water in cooking (-20 loses a fifth).
    discretionary_share: a dish is discretionary where more than this share of its energy is from such foods.

    Raises ``BadAmount`` where nothing would be left, or for more water lost than there is.

    Source: USDA FNDDS documentation for nutrients; Food Buying Guide, appendix A, for credits (summed, then rounded once).

    >>> from service.reference.foods.catalogue import find_food
    >>> apple = find_food("apple")
    >>> dish = compose(
    ...     recipe_id="baked", name="baked apple", ingredients=[Ingredient(apple, 200_000, None)],
    ...     weight_change_percent=Fraction(-20),
    ... )
    >>> dish.basis_mg, int(dish.nutrients[MEASURE_INDEX["energy_kcal"]])  # the water goes, the energy stays
    (160000, 104000)
    """
    if not ingredients:
        raise BadAmount(
            field="ingredients",
            value=[],
            problem=message("fault.recipe-of-nothing"),
        )
    raw_mg = sum(ingredient.amount_mg for ingredient in ingredients)
    gained = Fraction(raw_mg) * weight_change_percent / 100
    yield_mg = round(raw_mg + gained)
    if yield_mg <= 0:
        raise BadAmount(
            field="weight_change_percent",
            value=float(weight_change_percent),
            problem=message("fault.nothing-left"),
        )
    figures = _figures(ingredients, gained)
    return Food(
        id=recipe_id,
        name=name,
        kind="recipe",
        basis_mg=yield_mg,
        nutrients=figures.nutrients,
        source="computed from " + "; ".join(sorted({_shown_name(i.food) for i in ingredients})),
        ranges=figures.ranges,
        partly=figures.partly,
        estimated=_estimated(ingredients),
        credit_options=_credits(ingredients),
        units=tuple(units),
        allergens=merged_allergens(ingredients),
        handling=_handling(ingredients),
        category="recipe",
        editions=frozenset().union(*(i.food.editions for i in ingredients)),
        search_words=tuple(search_words),
        note=note,
        credits_known=all(i.food.credits_known for i in ingredients),
        uncredited_parts=tuple(dict.fromkeys(name for i in ingredients for name in i.food.uncredited)),
        discretionary=_is_discretionary(ingredients, discretionary_share),
        made_of=tuple(dict.fromkeys(food for i in ingredients for food in i.food.made_of or (i.food,))),
    )


def _shown_name(food: Food) -> str:
    """What a food is called in the source of a dish: the id of the tables, or the name of a food of one's own."""
    return food.name if food.kind == "label" else food.id


class _Figures(NamedTuple):
    """The figures of a whole dish, as a `Food` holds them."""

    nutrients: tuple[Figure | None, ...]
    ranges: dict[int, tuple[Figure, Figure]]
    partly: dict[int, PartlyKnown]


def _figures(ingredients: Sequence[Ingredient], gained_mg: Fraction) -> _Figures:
    """Sums over the ingredients, exact: nothing is rounded before a portion is weighed out."""
    nutrients: list[Figure | None] = []
    ranges: dict[int, tuple[Figure, Figure]] = {}
    partly: dict[int, PartlyKnown] = {}
    # Each share as a number of parts of one size, so that the sums are of whole numbers.
    whole = lcm(*(one.food.basis_mg for one in ingredients))
    shares = [one.amount_mg * (whole // one.food.basis_mg) for one in ingredients]
    for measure in range(NUTRIENT_COUNT):
        found = [figure_of(one.food, measure) for one in ingredients]
        known = Fraction(sum(value * share for (value, _, _), share in zip(found, shares, strict=True)), whole)
        low = Fraction(sum(least * share for (_, least, _), share in zip(found, shares, strict=True)), whole)
        ends = [most * share for (_, _, most), share in zip(found, shares, strict=True) if most is not None]
        high = Fraction(sum(ends), whole) if len(ends) == len(found) else None
        missing = any(one.food.nutrients[measure] is None for one in ingredients)
        if measure == WATER:
            # What the dish gains or loses in weight is water, so no other figure moves.
            if not missing and known + gained_mg < 0:
                raise BadAmount(
                    field="weight_change_percent",
                    value=float(gained_mg / 1000),
                    problem=message("fault.more-water-lost", grams=round(float(known / 1000), 1)),
                )
            nothing = Fraction(0)
            known, low = max(known + gained_mg, nothing), max(low + gained_mg, nothing)
            high = None if high is None else max(high + gained_mg, nothing)
        if missing:
            nutrients.append(None)
            # One missing figure makes the dish unknown, but it holds what the others hold.
            if low or high is not None:
                partly[measure] = PartlyKnown(known, low, high)
            continue
        nutrients.append(known)
        if high is not None and low != high:
            ranges[measure] = low, high
    return _Figures(tuple(nutrients), ranges, partly)


def _is_discretionary(ingredients: Sequence[Ingredient], share: Fraction) -> bool:
    """Whether a dish is a sweet or a snack: all its foods are, or more than ``share`` of its known energy comes from such foods."""
    if all(one.food.discretionary for one in ingredients):
        return True
    energy = [
        (one.food.discretionary, (one.food.nutrients[ENERGY] or 0) * Fraction(one.amount_mg, one.food.basis_mg))
        for one in ingredients
    ]
    return sum(amount for sweet, amount in energy if sweet) > share * sum(amount for _sweet, amount in energy)


def _estimated(ingredients: Sequence[Ingredient]) -> dict[int, str]:
    found: dict[int, str] = {}
    for ingredient in ingredients:
        for measure in ingredient.food.estimated:
            found[measure] = "computed from estimated ingredients"
    return found


def _credits(ingredients: Sequence[Ingredient]) -> tuple[CreditOption, ...]:
    credits: list[Credit] = []
    for ingredient in ingredients:
        if ingredient.option is None:
            continue
        share = Fraction(ingredient.amount_mg, ingredient.food.basis_mg)
        credits.extend(Credit(c.measure, c.per_basis * share) for c in ingredient.option.credits)
    return (CreditOption("recipe", merge_credits(tuple(credits))),) if credits else ()


def merged_allergens(ingredients: Sequence[Ingredient]) -> AllergenProfile:
    """The worst of each allergen over the ingredients, with the ingredient named as evidence.

    ``ingredients``: one at least. Source: common practice, no source: a dish holds what any of its foods holds.
    """
    ids = sorted({allergen for i in ingredients for allergen in i.food.allergens.named})
    named: dict[str, Containment] = {}
    for allergen in ids:
        named[allergen] = _worst(ingredients, allergen)
    others = _worst(ingredients, None)
    return AllergenProfile(named, others, tuple(_parts(ingredients)))


def _parts(ingredients: Sequence[Ingredient]) -> Iterator[AllergenProfile]:
    for ingredient in sorted(ingredients, key=lambda i: i.food.name):
        name, profile = ingredient.food.name, ingredient.food.allergens
        # Kept apart for the screening: one ingredient that names almond must not weaken another's "tree nuts".
        for part in profile.parts or (profile,):
            named = {allergen: _named_by(name, seen) for allergen, seen in part.named.items()}
            not_read = part.not_read and message("evidence.ingredient", name=name, seen=part.not_read)
            yield AllergenProfile(named, _named_by(name, part.others), not_read=not_read)


def _named_by(name: str, seen: Containment) -> Containment:
    if seen.evidence is None:
        return seen._replace(evidence=message("evidence.ingredient-only", name=name))
    return seen._replace(evidence=message("evidence.ingredient", name=name, seen=seen.evidence))


def _worst(ingredients: Sequence[Ingredient], allergen: str | None) -> Containment:
    worst: Containment | None = None
    for ingredient in sorted(ingredients, key=lambda i: i.food.name):
        profile = ingredient.food.allergens
        seen = profile.others if allergen is None else profile.of(allergen)
        named = _named_by(ingredient.food.name, seen)
        worst = named if worst is None else worse(worst, named)
    assert worst is not None  # noqa: S101 - compose() refuses an empty recipe
    return worst


def _handling(ingredients: Sequence[Ingredient]) -> Handling:
    perishable: bool | None = False
    for ingredient in ingredients:
        kept = ingredient.food.handling.perishable
        if kept:
            perishable = True
            break
        if kept is None:
            perishable = None
    return Handling(perishable=perishable, pieces=tuple(pieces_of(ingredients)))


def pieces_of(ingredients: Sequence[Ingredient]) -> Iterator[Piece]:
    """The pieces in a dish that a choking rule speaks of, or of which nothing is known; those of a dish in it too.

    ``ingredients``: a form given for one holds for all its pieces. Source: common practice, no source.
    """
    for food, form in ((one.food, one.form) for one in ingredients):
        kept = food.handling
        own = Piece(food.name, kept.choking_rule, form, kept.choking_known)
        for piece in kept.pieces or (own,):
            if piece.choking_rule or not piece.known:
                yield piece._replace(form=form or piece.form)
