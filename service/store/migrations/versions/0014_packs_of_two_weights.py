"""Packs of one food in two weights have each their own price, and a price may end."""

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import sqlalchemy as sa
from alembic import op

from service.store.household.pack_prices import of_pack, with_last_days

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None

prices = sa.table(
    "prices",
    sa.column("id", sa.Uuid()),
    sa.column("household_id", sa.Uuid()),
    sa.column("body", sa.JSON()),
    sa.column("what", sa.String()),
    sa.column("from_day", sa.Date()),
)


def _by_household() -> Iterator[list[sa.Row[Any]]]:
    connection = op.get_bind()
    for household in connection.execute(sa.select(prices.c.household_id).distinct()).scalars().all():
        of_household = sa.select(prices).where(prices.c.household_id == household)
        yield list(connection.execute(of_household.order_by(prices.c.from_day, prices.c.id)).all())


def upgrade() -> None:
    connection = op.get_bind()
    for rows in _by_household():
        for row, body in zip(rows, with_last_days([row.body for row in rows]), strict=True):
            what = of_pack(body["food"], body["pack_grams"]) if body["what"] == "food" else row.what
            connection.execute(prices.update().where(prices.c.id == row.id).values(what=what, body=body))


def downgrade() -> None:
    # In that version a food has one price a day, whatever the pack: a second one begins on the next free day before.
    connection = op.get_bind()
    for rows in _by_household():
        taken: set[tuple[str, date]] = set()
        for row in rows:
            body = {name: value for name, value in row.body.items() if name != "until"}
            what = f"food:{body['food']}" if body["what"] == "food" else row.what
            day = row.from_day
            while (what, day) in taken:
                day -= timedelta(days=1)
            taken.add((what, day))
            changed = {"what": what, "from_day": day, "body": {**body, "from": day.isoformat()}}
            connection.execute(prices.update().where(prices.c.id == row.id).values(changed))
