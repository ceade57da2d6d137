"""What a food says of allergens as a reply: of each that it names, and of those that follow from them."""

from typing import Any

from service.domain.allergens.screening import level_of
from service.domain.foods.food import LEVEL_RANK, AllergenProfile, Containment


def allergens_reply(profile: AllergenProfile) -> dict[str, Any]:
    """Levels with their evidence, as codes and in words; ``other_allergens`` holds for all that are not listed."""
    return {
        "allergens": {allergen: _containment(seen) for allergen, seen in _listed(profile)},
        "other_allergens": _containment(profile.others),
    }


def _listed(profile: AllergenProfile) -> list[tuple[str, Containment]]:
    """What is known of each allergen that a food names, and of each of which that says worse than of all others.

    Whole milk names milk alone, and nothing is added to it: what holds for all others must not be read for lactose.

    >>> from service.reference.foods.catalogue import find_food
    >>> milk = find_food("milk-whole").allergens
    >>> [(allergen, seen.level) for allergen, seen in _listed(milk)], milk.others.level
    ([('lactose', 'contains'), ('milk', 'contains')], 'free')
    """
    from service.reference.allergens.vocabulary import vocabulary  # a list of foods does without

    known = vocabulary()
    levels = {allergen: level_of(known, profile, allergen) for allergen in sorted({*profile.named, *known.allergens})}
    others = LEVEL_RANK[profile.others.level]
    return [
        (allergen, seen)
        for allergen, seen in levels.items()
        if allergen in profile.named or LEVEL_RANK[seen.level] > others
    ]


def _containment(seen: Containment) -> dict[str, Any]:
    from service.reference.messages import worded_as  # a list of foods says nothing in sentences

    return {"level": seen.level, "basis": seen.basis, **worded_as("evidence", seen.evidence)}
