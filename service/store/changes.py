"""Whether anything of a household changed: a mark that is another after every change, cheap to ask for again and again."""

from uuid import UUID

from sqlalchemy import Connection, func, literal, select, union_all

from service.store.kinds import KINDS
from service.store.tables import households


def mark_of(connection: Connection, household: UUID) -> str:
    """The mark of all that a household stores now: of each kind how many there are, and when one was last changed.

    What the household says of itself is part of it.
    """
    parts = [
        select(literal(place).label("place"), func.count(), func.max(kind.table.c.updated_at)).where(
            kind.table.c.household_id == household
        )
        for place, kind in enumerate(KINDS.values(), 1)
    ]
    parts.append(select(literal(0), households.c.version, households.c.updated_at).where(households.c.id == household))
    rows = connection.execute(union_all(*parts).order_by("place"))
    return ";".join(f"{count},{'' if last is None else last}" for _place, count, last in rows)
