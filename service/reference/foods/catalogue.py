"""One place to find a food by id: lunch foods, then recipes, then generic foods."""

from collections.abc import Iterator, Mapping
from functools import lru_cache

from service.domain.foods.food import AllergenProfile, Containment, Food, Handling, HouseholdUnit, Level
from service.domain.measures import MILK_SATURATED
from service.domain.messages import message
from service.reference.foods.generic_foods import generic_foods
from service.reference.foods.lunch_foods import lunch_foods

BASIS_MG = 100_000


def find_food(food_id: str) -> Food | None:
    """The food of that id in any of the tables, or None.

    >>> find_food("apple").units[0].grams_mg
    182000
    >>> find_food("aple") is None
    True
    """
    food = lunch_foods().get(food_id)
    if food is not None:
        return food
    if food_id.startswith(("sr28-", "fndds-")):
        return _generic(food_id)
    from service.reference.foods.recipes import find_recipe

    return find_recipe(food_id)


def packable_foods() -> Iterator[Food]:
    """Lunch foods, then recipes: what a lunch is made up from."""
    yield from lunch_foods()
    yield from _recipes().values()


def near_food_ids(food_id: str) -> list[str]:
    """Up to three ids that look like the one asked for.

    >>> near_food_ids("sandwich-hamm")[0]
    'sandwich-ham'
    """
    from rapidfuzz import process

    ids = [*lunch_foods().rows(), *_recipes()]
    return [match for match, _score, _index in process.extract(food_id, ids, limit=3, score_cutoff=60)]


def _recipes() -> Mapping[str, Food]:
    """All recipes, loaded where they are looked through."""
    from service.reference.foods.recipes import recipes

    return recipes()


def in_salted_water(food_id: str) -> Food | None:
    """A food as it is where the water for cooking is salted, under its own id; None where that changes nothing."""
    from service.reference.foods import recipes

    return recipes.in_salted_water(food_id)


@lru_cache(maxsize=1024)
def _generic(food_id: str) -> Food | None:
    """A food of the composition tables; its name is read like a label, all else about it is unknown."""
    generic = generic_foods().get(food_id)
    if generic is None:
        return None
    from service.domain.labels.reader import read_label
    from service.reference.allergens.evidence import evidence_file, likened_generic_food, with_unusual
    from service.reference.allergens.vocabulary import vocabulary
    from service.reference.foods.discretionary import is_discretionary_generic_food
    from service.reference.foods.generic_credits import estimated_credits
    from service.reference.labels.words import label_words

    named: dict[str, Containment] = {}
    for evidence in read_label(label_words(), generic.name).evidence:
        level: Level = "unknown" if evidence.tier == "check_label" else evidence.tier
        if named.get(evidence.allergen, Containment("unknown", "name")).level != "contains":
            named[evidence.allergen] = Containment(level, "name", message("evidence.in-name", words=evidence.words))
    others = Containment("unknown", "none", message("evidence.food-table"))
    if evidence_file().single_foods.holds(generic.name, generic.group):
        others = Containment("free", "nature", message("evidence.nothing-added"))
    else:
        with_unusual(named, likened_generic_food(generic.group), vocabulary().members)
    nutrients = list(generic.values)
    nutrients[MILK_SATURATED] = 0  # not excluded as milk fat unless it is known to be fluid milk: the stricter way
    units = [HouseholdUnit("100 g", BASIS_MG, "")]
    units += [
        HouseholdUnit(measure.text(), measure.grams_mg, generic.edition) for measure in generic.household_measures
    ]
    credits = estimated_credits(generic)
    return Food(
        id=generic.id,
        name=generic.name,
        kind="generic_food",
        basis_mg=BASIS_MG,
        nutrients=tuple(nutrients),
        source=f"{generic.edition}: {generic.id}",
        units=tuple(units),
        allergens=AllergenProfile(named, others),
        handling=Handling(choking_known=False),
        credit_options=() if credits is None else credits.options,
        credits_known=credits is not None,
        note="" if credits is None else f"US school-meal credits estimated: {credits.rule}.",
        category=generic.group,
        discretionary=is_discretionary_generic_food(generic.group, generic.name),
        editions=frozenset({generic.edition}),
    )
