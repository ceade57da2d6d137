"""How well a food freezes and why, and how long it takes to thaw."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from service.domain.foods.food import Food
from service.domain.messages import Message, message

WORST_FIRST = ("no", "poor", "fair", "well")
"""How well a food freezes, as the lunch foods have it."""


class Freezing(NamedTuple):
    """How well a food freezes (empty: not known), and what speaks against it, one message a reason."""

    level: str
    because: tuple[Message, ...]


class Thawing(NamedTuple):
    """Hours in the fridge until a food is thawed, and who says so."""

    hours: float
    source: str
    status: str


def freezing_of(food: Food, notes: Mapping[str, str]) -> Freezing:
    """How well a food freezes: as is said of it, for a dish without a word as the worst of what is in it.

    ``notes``: food id -> what becomes of it.

    >>> from service.reference.foods.catalogue import find_food
    >>> freezing_of(find_food("lettuce-green-leaf"), {}).level
    'no'
    """
    level = food.handling.freezing or worst([part.handling.freezing for part in food.made_of])
    reasons = {part.name: _reason(part, notes) for part in food.made_of or (food,)}
    return Freezing(level, tuple(one for one in reasons.values() if one is not None and level != "well"))


def worst(levels: Sequence[str]) -> str:
    """The worst of several; empty where one is not known, or there is none.

    >>> worst(["well", "poor"]), worst(["well", ""])
    ('poor', '')
    """
    return "" if not levels or "" in levels else min(levels, key=WORST_FIRST.index)


def _reason(part: Food, notes: Mapping[str, str]) -> Message | None:
    if part.handling.freezing not in ("poor", "no"):
        return None
    after = notes.get(part.id)
    if after:
        return message("freezing.becomes", name=part.name, after=after)
    return message("freezing.suffers", name=part.name)


def thaw_hours(food: Food, by_class: Mapping[str, Thawing], other: Thawing) -> Thawing:
    """How long a food takes to thaw: what has bread around it thaws as bread does, everything else by the longer figure."""
    classes = [food.handling.storage, *(part.handling.storage for part in food.made_of)]
    return next((by_class[one] for one in classes if one in by_class), other)
