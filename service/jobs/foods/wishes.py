"""What a child does not want on its plate: a wish, never an allergy. Nothing of it is suggested; it may be packed."""

from collections.abc import Collection, Sequence
from typing import NamedTuple

from service.domain.foods.food import Food
from service.reference.foods.search import WORD, fold
from service.reference.weeks.school_food_groups import not_vegetarian


class Wishes(NamedTuple):
    """``dislikes``: food ids, or words of food names; ``vegetarian``: no meat or fish."""

    dislikes: tuple[str, ...] = ()
    vegetarian: bool = False

    def wanted(self, food: Food) -> bool:
        """Whether nothing speaks against suggesting a food; of a label it is not known whether it has meat."""
        if self.vegetarian and food.id in not_vegetarian():
            return False
        return not is_disliked(self.dislikes, food.id, words_of(food.name, *food.search_words))


def words_of(*names: str) -> frozenset[str]:
    """The words of some names, as dislikes look for them."""
    return frozenset(WORD.findall(fold(" ".join(names))))


def is_disliked(dislikes: Sequence[str], food_id: str, words: Collection[str]) -> bool:
    """Whether a dislike is the food's id, or all of its words, or their plurals, are in the food's names."""
    for dislike in dislikes:
        parts = WORD.findall(fold(dislike))
        if dislike == food_id or (parts and all({part, part + "s", part + "es"} & set(words) for part in parts)):
            return True
    return False
