"""Packets that were read are kept."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "packets",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("household_id", sa.Uuid(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("food", sa.String(length=120), nullable=False),
        sa.Column("read_on", sa.Date(), nullable=False),
        sa.ForeignKeyConstraint(
            ["household_id"], ["households.id"], name=op.f("fk_packets_household_id_households"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_packets")),
        sa.UniqueConstraint("household_id", "food", "read_on", name=op.f("uq_packets_household_id_food_read_on")),
    )


def downgrade() -> None:
    op.drop_table("packets")
