"""What somebody read on the packet of a food of the tables: it fills in what recipes vary in.

It settles what is unknown there; it never clears what the food contains by its nature or usual recipe.
"""

from collections.abc import Sequence
from dataclasses import replace

from service.domain.allergens.vocabulary import resolve
from service.domain.errors import Faults
from service.domain.foods.food import UNREAD, AllergenProfile, Containment, Food
from service.domain.messages import message
from service.jobs.requests import DeclaredAllergen
from service.reference.allergens.vocabulary import vocabulary


def with_label_read(food: Food, read: Sequence[DeclaredAllergen]) -> Food:
    """The food with what was read on its label; ``UnknownName`` for an unknown allergen."""
    words = vocabulary()
    faults = Faults()
    said: dict[str, Containment] = {}
    for place, one in enumerate(read):
        with faults.at(place, "allergen"):
            for allergen in resolve(words, one.allergen):
                evidence = message("evidence.label-read", level=one.level)
                told = Containment(one.level, "label_statement", evidence)
                for member in {allergen, *(words.members_of(allergen) if one.level == "free" else ())}:
                    said[member] = told
    faults.raise_all()
    return replace(food, kind="label", allergens=_read(food.allergens, said))


def _read(profile: AllergenProfile, said: dict[str, Containment]) -> AllergenProfile:
    named = dict(profile.named)
    for allergen, told in said.items():
        known = profile.of(allergen)
        if (
            known.level in UNREAD
            or (told.level == "contains" and known.level != "contains")
            or (told.level == "may_contain" and known.level == "free")
        ):
            named[allergen] = told
    return AllergenProfile(named, profile.others, tuple(_read(part, said) for part in profile.parts))
