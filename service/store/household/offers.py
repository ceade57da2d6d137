"""Offers: what becomes of them when a child goes."""

from typing import Any
from uuid import UUID

from sqlalchemy import Connection, String, cast, select, update

from service.store.household.records import now_or_later
from service.store.tables import offers


def forget_portions(connection: Connection, household: UUID, child: UUID) -> None:
    """No item has an amount of its own for a child any more; the offers stay."""
    names = cast(offers.c.body, String).contains(str(child), autoescape=True)
    naming = select(offers).where(offers.c.household_id == household, names).with_for_update()
    for row in connection.execute(naming).all():
        groups = [
            {**group, "items": [_without(item, str(child)) for item in group["items"]]} for group in row.body["groups"]
        ]
        connection.execute(
            update(offers)
            .where(offers.c.id == row.id)
            .values(body={**row.body, "groups": groups}, version=row.version + 1, updated_at=now_or_later(offers))
        )


def _without(item: dict[str, Any], child: str) -> dict[str, Any]:
    if not item.get("portions"):
        return item
    return {**item, "portions": [one for one in item["portions"] if one["child"] != child]}
