"""The stock of a household, and what happened to each entry of it."""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    _records("stock", sa.Column("food", sa.String(length=120), nullable=False))
    op.create_index("ix_stock_household_id_food", "stock", ["household_id", "food"])
    _records(
        "stock_events",
        sa.Column("stock_id", sa.Uuid(), nullable=False),
        sa.Column("lunch_id", sa.Uuid()),
        sa.ForeignKeyConstraint(
            ["stock_id"], ["stock.id"], name=op.f("fk_stock_events_stock_id_stock"), ondelete="CASCADE"
        ),
    )
    op.create_index("ix_stock_events_household_id_lunch_id", "stock_events", ["household_id", "lunch_id"])
    op.create_index("ix_stock_events_stock_id", "stock_events", ["stock_id"])


def downgrade() -> None:
    op.drop_table("stock_events")
    op.drop_table("stock")


def _records(name: str, *more: Any) -> None:
    op.create_table(
        name,
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("household_id", sa.Uuid(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        *more,
        sa.ForeignKeyConstraint(
            ["household_id"], ["households.id"], name=op.f(f"fk_{name}_household_id_households"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{name}")),
    )
