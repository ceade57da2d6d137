"""Whether anything of a household changed: a mark that is another after every change, cheap to ask for again and again."""

from uuid import UUID

from sqlalchemy import Connection, func, literal, select, union_all

from service.store.kinds import KINDS


def mark_of(connection: Connection, household: UUID) -> str:
    """The mark of all that a household stores now: of each kind how many there are, and when one was last changed."""
    parts = [
        select(literal(place).label("place"), func.count(), func.max(kind.table.c.updated_at)).where(
            kind.table.c.household_id == household
        )
        for place, kind in enumerate(KINDS.values())
    ]
    rows = connection.execute(union_all(*parts).order_by("place"))
    return ";".join(f"{count},{'' if last is None else last}" for _place, count, last in rows)
