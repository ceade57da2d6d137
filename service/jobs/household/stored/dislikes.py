"""What a child does not take from an offer by its wishes: what it dislikes, and meat and fish for a vegetarian."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from service.jobs.foods.wishes import Named, is_disliked, named_food, named_parts, words_of
from service.jobs.household.requests import KeptChild
from service.jobs.offers.requests import OfferIn
from service.jobs.requests.foods import LabelFood, Recipe, food_key
from service.reference.weeks.school_food_groups import not_vegetarian


class Offered(NamedTuple):
    """One item of an offer, as far as a wish looks at it; ``inside``: the foods that a dish is made of."""

    group: str
    item: str
    itself: Named
    inside: tuple[Named, ...]
    meat_or_fish: bool


def offered_by(offer: OfferIn) -> "list[Offered]":
    """The items of an offer, as far as a wish looks at them."""
    return [
        Offered(
            group.id,
            item.key or food_key(item.food),
            _named(item.food),
            tuple(_inside(item.food)),
            _with_meat(item.food),
        )
        for group in offer.groups
        for item in group.items
    ]


def item_names(food: str | LabelFood | Recipe, child: KeptChild) -> list[Named]:
    """The names by which a child's dislikes look at a food: its own, and of a dish those in it unless the child does not mind."""
    return [_named(food), *(_inside(food) if child.dislikes_in_dishes else ())]


def _named(food: str | LabelFood | Recipe) -> Named:
    return named_food(food) if isinstance(food, str) else Named(food.id or "", words_of(food.name))


def _inside(food: str | LabelFood | Recipe) -> Iterator[Named]:
    """The foods that a dish is made of, those of a dish in it too."""
    if isinstance(food, Recipe):
        for ingredient in food.ingredients:
            yield _named(ingredient.food)
            yield from _inside(ingredient.food)
    elif isinstance(food, str):
        yield from named_parts(food)


def _with_meat(food: str | LabelFood | Recipe) -> bool:
    """Whether a food of the tables, or a dish by one of its ingredients, has meat or fish; a label does not say."""
    if isinstance(food, Recipe):
        return any(isinstance(one.food, str) and one.food in not_vegetarian() for one in food.ingredients)
    return isinstance(food, str) and food in not_vegetarian()


def has_wishes(child: KeptChild) -> bool:
    """Whether there may be anything that a child does not take by its wishes."""
    return child.vegetarian or bool(child.dislikes)


def disliked(child: KeptChild, offered: Sequence[Offered]) -> list[dict[str, str]]:
    """The items that a child dislikes: for themselves, or as dishes for a food in them unless it does not mind that.

    For a vegetarian child those with meat or fish, too.
    """
    return [
        {"group": one.group, "item": one.item}
        for one in offered
        for looked_at in [(one.itself, *one.inside) if child.dislikes_in_dishes else (one.itself,)]
        if (child.vegetarian and one.meat_or_fish) or any(is_disliked(child.dislikes, named) for named in looked_at)
    ]
