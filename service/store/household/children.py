"""Children: what becomes of their wishes when a food goes."""

from uuid import UUID

from sqlalchemy import Connection, String, cast, select, update

from service.store.household.records import now_or_later
from service.store.tables import children


def forget_disliked(connection: Connection, household: UUID, food: UUID) -> None:
    """No child dislikes a food any more by its id."""
    names = cast(children.c.body, String).contains(str(food), autoescape=True)
    naming = select(children).where(children.c.household_id == household, names).with_for_update()
    for row in connection.execute(naming).all():
        left = [one for one in row.body["dislikes"] if one != str(food)]
        connection.execute(
            update(children)
            .where(children.c.id == row.id)
            .values(body={**row.body, "dislikes": left}, version=row.version + 1, updated_at=now_or_later(children))
        )
