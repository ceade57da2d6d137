"""What a child does not take from an offer by its wishes: what it dislikes, and meat and fish for a vegetarian."""

from collections.abc import Sequence
from typing import NamedTuple

from service.jobs.foods.wishes import is_disliked, words_of
from service.jobs.household.requests import KeptChild
from service.jobs.offers.requests import OfferIn
from service.jobs.requests import LabelFood, Recipe
from service.reference.foods.catalogue import find_food
from service.reference.weeks.school_food_groups import not_vegetarian


class Offered(NamedTuple):
    """One item of an offer, as far as a dislike looks at it."""

    group: str
    item: str
    food_id: str
    words: frozenset[str]
    meat_or_fish: bool


def offered_by(offer: OfferIn) -> "list[Offered]":
    """The items of an offer, as far as a dislike looks at them."""
    return [
        Offered(group.id, item.key or name, food_id, words_of(words), _with_meat(item.food))
        for group in offer.groups
        for item in group.items
        for food_id, name, words in [_names(item.food)]
    ]


def _names(food: str | LabelFood | Recipe) -> tuple[str, str, str]:
    """A food's id (empty for a label or recipe), its id or name, and the words of its name."""
    if not isinstance(food, str):
        return "", food.name, food.name
    known = find_food(food)
    return food, food, f"{known.name} {' '.join(known.search_words)}" if known else food


def _with_meat(food: str | LabelFood | Recipe) -> bool:
    """Whether a food of the tables, or a dish by one of its ingredients, has meat or fish; a label does not say."""
    if isinstance(food, Recipe):
        return any(isinstance(one.food, str) and one.food in not_vegetarian() for one in food.ingredients)
    return isinstance(food, str) and food in not_vegetarian()


def disliked(child: KeptChild, offered: Sequence[Offered]) -> list[dict[str, str]]:
    """The items that a child dislikes: by the food's id, or by all words of the dislike, or their plurals, in its names.

    For a vegetarian child those with meat or fish, too.
    """
    return [
        {"group": one.group, "item": one.item}
        for one in offered
        if (child.vegetarian and one.meat_or_fish) or is_disliked(child.dislikes, one.food_id, one.words)
    ]
