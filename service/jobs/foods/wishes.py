"""What a child does not want on its plate: a wish, never an allergy. Nothing of it is suggested; it may be packed."""

from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

from service.domain.foods.food import Food
from service.reference.foods.catalogue import find_food
from service.reference.foods.recipes import recipe_parts
from service.reference.foods.search import WORD, fold
from service.reference.weeks.school_food_groups import not_vegetarian


class Named(NamedTuple):
    """A food by its id (empty for a label or recipe) and the words of its names."""

    food_id: str
    words: frozenset[str]


class Wishes(NamedTuple):
    """``dislikes``: food ids, or words of food names; ``in_dishes``: also of foods in dishes; ``vegetarian``: no meat or fish."""

    dislikes: tuple[str, ...] = ()
    vegetarian: bool = False
    in_dishes: bool = True

    def wanted(self, food: Food) -> bool:
        """Whether nothing speaks against suggesting a food; of a label it is not known whether it has meat."""
        if self.vegetarian and food.id in not_vegetarian():
            return False
        itself = Named(food.id, words_of(food.name, *food.search_words))
        looked_at = (itself, *named_parts(food.id)) if self.in_dishes else (itself,)
        return not any(is_disliked(self.dislikes, one) for one in looked_at)


def words_of(*names: str) -> frozenset[str]:
    """The words of some names, as dislikes look for them."""
    return frozenset(WORD.findall(fold(" ".join(names))))


@lru_cache(maxsize=4096)
def named_food(food_id: str) -> Named:
    """A food of the tables by all its names."""
    known = find_food(food_id)
    return Named(food_id, words_of(known.name, *known.search_words) if known else words_of(food_id))


def named_parts(food_id: str) -> tuple[Named, ...]:
    """The foods that a dish of the tables is made of; none for any other food."""
    return tuple(named_food(part) for part, _amount_mg in recipe_parts().get(food_id, ()))


def is_disliked(dislikes: Sequence[str], food: Named) -> bool:
    """Whether a dislike is the food's id, or all of its words, or their plurals, are in the food's names."""
    for dislike in dislikes:
        parts = WORD.findall(fold(dislike))
        if dislike == food.food_id or (parts and all({part, part + "s", part + "es"} & food.words for part in parts)):
            return True
    return False
