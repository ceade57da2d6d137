"""Prices of packs as they are kept apart, and those of older versions, in which a food had one price a day whatever the pack."""

from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

Body = dict[str, Any]


def of_pack(food: str, pack_grams: float) -> str:
    """What the price of a pack is of: the food, and the weight in milligrams.

    >>> of_pack("apple", 1360)
    'food:apple:1360000'
    """
    return f"food:{food}:{max(1, round(pack_grams * 1000))}"


def with_last_days(prices: Sequence[Body]) -> list[Body]:
    """The bodies of an older version's prices, all of a household, as prices that end: what each cost on a day stays as it was.

    There the price of a pack of another weight replaced the one before it, so that one ends the day before.

    >>> oats = {"what": "food", "food": "oats", "from": "2026-09-01", "pack_grams": 500}
    >>> [one["until"] for one in with_last_days([oats, {**oats, "from": "2026-11-01", "pack_grams": 1000}])]
    ['2026-10-31', None]
    """
    found = [{**one, "until": None} for one in prices]
    of_food: dict[str, list[Body]] = {}
    for one in sorted((one for one in found if one["what"] == "food"), key=lambda one: str(one["from"])):
        of_food.setdefault(one["food"], []).append(one)
    for dated in of_food.values():
        for before, after in pairwise(dated):
            if of_pack(before["food"], before["pack_grams"]) != of_pack(after["food"], after["pack_grams"]):
                before["until"] = (date.fromisoformat(after["from"]) - timedelta(days=1)).isoformat()
    return found
