"""What a child does not want on its plate: a wish, never an allergy. Nothing of it is suggested; it may be packed."""

from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

from service.domain.foods.food import Food
from service.reference.foods.catalogue import find_food
from service.reference.foods.recipes import recipe_parts
from service.reference.foods.search import fold, same_meaning, stems
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
    """The words of some names without their plurals, as dislikes look for them."""
    return frozenset(stems(fold(" ".join(names))))


@lru_cache(maxsize=4096)
def named_food(food_id: str) -> Named:
    """A food of the tables by all its names."""
    known = find_food(food_id)
    return Named(food_id, words_of(known.name, *known.search_words) if known else words_of(food_id))


def named_parts(food_id: str) -> tuple[Named, ...]:
    """The foods that a dish of the tables is made of; none for any other food."""
    return tuple(named_food(part) for part, _amount_mg in recipe_parts().get(food_id, ()))


def is_disliked(dislikes: Sequence[str], food: Named) -> bool:
    """Whether a dislike is the food's id, or all of its words are in the food's names: one or many, in any country's words.

    >>> is_disliked(["cookies"], named_food("cookie-oatmeal")), is_disliked(["courgettes"], named_food("zucchini-raw"))
    (True, True)
    """
    return any(
        dislike == food.food_id or any(words <= food.words for words in _wordings(dislike)) for dislike in dislikes
    )


@lru_cache(maxsize=4096)
def _wordings(dislike: str) -> tuple[frozenset[str], ...]:
    """The words of a dislike, and of other names for the same; none where it has no words."""
    return tuple(words for one in same_meaning(fold(dislike)) if (words := words_of(one)))
