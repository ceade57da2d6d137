"""Keys of households for the live source of branded foods."""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "live_source_keys",
        sa.Column("household_id", sa.Uuid(), nullable=False),
        sa.Column("api_key", sa.String(length=200), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["household_id"],
            ["households.id"],
            name=op.f("fk_live_source_keys_household_id_households"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("household_id", name=op.f("pk_live_source_keys")),
    )


def downgrade() -> None:
    op.drop_table("live_source_keys")
