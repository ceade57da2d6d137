"""What a child dislikes among the items of an offer: by a food's id, or by words of its name; also as a part of a dish."""

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import NamedTuple

from service.jobs.household.requests import KeptChild
from service.jobs.offers.requests import OfferIn
from service.jobs.requests import LabelFood, Recipe
from service.reference.foods.catalogue import find_food
from service.reference.foods.recipes import recipe_parts
from service.reference.foods.search import WORD, fold


class Named(NamedTuple):
    """A food by its id (empty for a label or recipe) and the words of its names."""

    food_id: str
    words: frozenset[str]

    def is_meant_by(self, dislike: str, parts: Sequence[str]) -> bool:
        """Whether a dislike is the food's id, or all its words (``parts``), or their plurals, are in its names."""
        named = bool(parts) and all({part, part + "s", part + "es"} & self.words for part in parts)
        return dislike == self.food_id or named


class Offered(NamedTuple):
    """One item of an offer, as far as a dislike looks at it; ``inside``: the foods that a dish is made of."""

    group: str
    item: str
    itself: Named
    inside: tuple[Named, ...]


def offered_by(offer: OfferIn) -> "list[Offered]":
    """The items of an offer, as far as a dislike looks at them."""
    return [
        Offered(group.id, item.key or _key(item.food), _named(item.food), tuple(_inside(item.food)))
        for group in offer.groups
        for item in group.items
    ]


def _key(food: str | LabelFood | Recipe) -> str:
    return food if isinstance(food, str) else food.name


def _named(food: str | LabelFood | Recipe) -> Named:
    if isinstance(food, str):
        return _of_tables(food)
    return Named("", _words(food.name))


@lru_cache(maxsize=4096)
def _of_tables(food_id: str) -> Named:
    known = find_food(food_id)
    return Named(food_id, _words(f"{known.name} {' '.join(known.search_words)}" if known else food_id))


def _words(names: str) -> frozenset[str]:
    return frozenset(WORD.findall(fold(names)))


def _inside(food: str | LabelFood | Recipe) -> Iterator[Named]:
    """The foods that a dish is made of, those of a dish in it too."""
    if isinstance(food, Recipe):
        for ingredient in food.ingredients:
            yield _named(ingredient.food)
            yield from _inside(ingredient.food)
    elif isinstance(food, str):
        for part, _amount_mg in recipe_parts().get(food, ()):
            yield _of_tables(part)


def disliked(child: KeptChild, offered: Sequence[Offered]) -> list[dict[str, str]]:
    """The items that a child dislikes: for themselves, or as dishes for a food in them unless it does not mind that."""
    dislikes = [(dislike, WORD.findall(fold(dislike))) for dislike in child.dislikes]
    return [
        {"group": one.group, "item": one.item}
        for one in offered
        for looked_at in [(one.itself, *one.inside) if child.dislikes_in_dishes else (one.itself,)]
        if any(named.is_meant_by(dislike, parts) for named in looked_at for dislike, parts in dislikes)
    ]
