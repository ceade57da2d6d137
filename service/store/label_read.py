"""What older versions stored of a packet with each item of a lunch or an offer, as packets: nothing that was read is lost."""

from typing import Any
from uuid import UUID, uuid5

Body = dict[str, Any]
LEVELS = {"contains": "contains", "may_contain": "may_contain", "free": "not_named"}


def has_label_read(body: object) -> bool:
    """Whether the body of a lunch or an offer has items with what was read of their packets."""
    return isinstance(body, dict) and any("label_read" in item for item in _items(body))


def without_label_read(body: Body, read_on: str) -> tuple[Body, list[Body]]:
    """The body of a lunch or an offer without what was read of its items, and that as the bodies of packets.

    ``read_on``: the day it was stored. A food that is not named by its id has no packet.
    """
    packets = [
        {
            "food": item["food"],
            "read_on": read_on,
            "allergens": [
                {"allergen": one["allergen"], "level": LEVELS[one["level"]]}
                for one in item["label_read"]
                if one["level"] in LEVELS
            ],
        }
        for item in _items(body)
        if item.get("label_read") and isinstance(item.get("food"), str)
    ]
    return _without(body), packets


def id_of_packet(household: UUID, packet: Body) -> UUID:
    """The id of a packet made so: always the same, so that one food has one packet a day."""
    return uuid5(household, f"{packet['food']} {packet['read_on']}")


def _items(body: Body) -> list[Body]:
    groups = [one for one in body.get("groups") or () if isinstance(one, dict)]
    lists = [body.get("items"), *(group.get("items") for group in groups)]
    return [item for items in lists if isinstance(items, list) for item in items if isinstance(item, dict)]


def _without(part: Any) -> Any:
    if isinstance(part, list):
        return [_without(one) for one in part]
    if isinstance(part, dict):
        return {name: _without(value) for name, value in part.items() if name != "label_read"}
    return part
