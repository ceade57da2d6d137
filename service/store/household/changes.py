"""Whether anything of a household changed: a mark that is another after every change, cheap to ask for again and again."""

from collections.abc import Iterable
from functools import cache
from typing import Any
from uuid import UUID

from sqlalchemy import BindParameter, CompoundSelect, Connection, bindparam, extract, func, literal, select, union_all

from service.store.household.kinds import KINDS
from service.store.household.records import Kind
from service.store.tables import households


def mark_of(connection: Connection, household: UUID, kinds: Iterable[Kind] = KINDS.values()) -> str:
    """The mark of the records that a household stores now, and of what it says of itself; not of photographs.

    ``kinds``: only of records of these kinds; left out: of all.

    On PostgreSQL an edit may be committed after one that began later: the latest moment alone would stay as it was. So
    there are sums too, which every commit moves: an edit raises the sum of the versions; where one record is removed and
    another made, the sum of the moments at which records were made is another.
    """
    rows = connection.execute(_mark_of(tuple(kinds)), {"household": household})
    return ";".join(",".join("" if value is None else str(value) for value in row[1:]) for row in rows)


@cache
def _mark_of(kinds: tuple[Kind, ...]) -> CompoundSelect[Any]:
    """The query over some kinds of record, made once: making it takes longer than asking it."""
    own = households.c
    household: BindParameter[UUID] = bindparam("household")
    said_of_itself = select(literal(0).label("place"), literal(1), own.version, own.updated_at, literal(0))
    parts = [said_of_itself.where(own.id == household)]
    for place, kind in enumerate(kinds, 1):
        columns = kind.table.c
        made = func.sum(extract("epoch", columns.created_at))
        part = select(literal(place), func.count(), func.sum(columns.version), func.max(columns.updated_at), made)
        parts.append(part.where(columns.household_id == household))
    return union_all(*parts).order_by("place")
