"""Offers: what becomes of them when a child goes."""

from typing import Any
from uuid import UUID

from sqlalchemy import Connection

from service.store.household.kinds import OFFER
from service.store.household.records import change_naming


def forget_portions(connection: Connection, household: UUID, child: UUID) -> None:
    """No item has an amount of its own for a child any more; the offers stay."""

    def without(body: dict[str, Any]) -> dict[str, Any]:
        groups = [
            {**group, "items": [_without(item, str(child)) for item in group["items"]]} for group in body["groups"]
        ]
        return {**body, "groups": groups}

    change_naming(connection, OFFER, household, child, without)


def _without(item: dict[str, Any], child: str) -> dict[str, Any]:
    if not item.get("portions"):
        return item
    return {**item, "portions": [one for one in item["portions"] if one["child"] != child]}
