"""What a child dislikes among the items of an offer: by the food's id, or by words of its name."""

from collections.abc import Sequence
from typing import NamedTuple

from service.jobs.household.requests import KeptChild
from service.jobs.offers.requests import OfferIn
from service.jobs.requests import LabelFood, Recipe
from service.reference.foods.catalogue import find_food
from service.reference.foods.search import WORD, fold


class Offered(NamedTuple):
    """One item of an offer, as far as a dislike looks at it."""

    group: str
    item: str
    food_id: str
    words: frozenset[str]


def offered_by(offer: OfferIn) -> "list[Offered]":
    """The items of an offer, as far as a dislike looks at them."""
    return [
        Offered(group.id, item.key or name, food_id, frozenset(WORD.findall(fold(words))))
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


def disliked(child: KeptChild, offered: Sequence[Offered]) -> list[dict[str, str]]:
    """The items that a child dislikes: by the food's id, or by all words of the dislike, or their plurals, in its names."""
    words = [(dislike, WORD.findall(fold(dislike))) for dislike in child.dislikes]
    return [
        {"group": one.group, "item": one.item}
        for one in offered
        if any(
            dislike == one.food_id or (parts and all({part, part + "s", part + "es"} & one.words for part in parts))
            for dislike, parts in words
        )
    ]
