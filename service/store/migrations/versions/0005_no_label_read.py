"""What was read of an item's packet is kept as a packet."""

from datetime import date
from typing import Any

import sqlalchemy as sa
from alembic import op

from service.store.label_read import has_label_read, id_of_packet, without_label_read

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def _records(name: str, *more: sa.ColumnClause[Any]) -> sa.TableClause:
    return sa.table(
        name,
        sa.column("id", sa.Uuid()),
        sa.column("household_id", sa.Uuid()),
        sa.column("updated_at", sa.DateTime()),
        sa.column("body", sa.JSON()),
        *more,
    )


lunches, offers = _records("lunches"), _records("offers")
packets = _records(
    "packets",
    sa.column("version", sa.Integer()),
    sa.column("created_at", sa.DateTime()),
    sa.column("food", sa.String()),
    sa.column("read_on", sa.Date()),
)


def upgrade() -> None:
    connection = op.get_bind()
    known = {(row.household_id, row.food, row.read_on) for row in connection.execute(sa.select(packets))}
    for table in (lunches, offers):
        for row in connection.execute(sa.select(table)).all():
            if not has_label_read(row.body):
                continue
            body, read = without_label_read(row.body, row.updated_at.date().isoformat())
            connection.execute(sa.update(table).where(table.c.id == row.id).values(body=body))
            for packet in read:
                key = (row.household_id, packet["food"], date.fromisoformat(packet["read_on"]))
                if key in known or not packet["allergens"]:
                    continue
                known.add(key)
                connection.execute(
                    sa.insert(packets).values(
                        id=id_of_packet(row.household_id, packet),
                        household_id=row.household_id,
                        version=1,
                        created_at=row.updated_at,
                        updated_at=row.updated_at,
                        body=packet,
                        food=packet["food"],
                        read_on=key[2],
                    )
                )


def downgrade() -> None:
    """Packets stay: the version before reads them too."""
