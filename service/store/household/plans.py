"""Plans: all of a household, held for a change."""

from uuid import UUID

from sqlalchemy import Connection, select

from service.store.household.records import Record
from service.store.tables import plans


def hold_plans(connection: Connection, household: UUID) -> list[Record]:
    """The plans of a household in the order they were made, held until the transaction ends."""
    columns = [plans.c[name] for name in Record._fields]
    query = select(*columns).where(plans.c.household_id == household).order_by(plans.c.id).with_for_update()
    return [Record._make(row) for row in connection.execute(query)]
