"""What is removed for its age can be put back for a while; each such run is noted; old replies are marked before they go."""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("kept_replies", sa.Column("old_since", sa.DateTime(), nullable=True))
    op.create_table(
        "retention_runs",
        sa.Column("household_id", sa.Uuid(), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("ran_at", sa.DateTime(), nullable=False),
        sa.Column("believed", sa.Date(), nullable=False),
        sa.Column("removed", sa.JSON(), nullable=False),
        sa.Column("held", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["household_id"],
            ["households.id"],
            name=op.f("fk_retention_runs_household_id_households"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("household_id", "number", name=op.f("pk_retention_runs")),
    )
    op.create_table(
        "removed_records",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("household_id", sa.Uuid(), nullable=False),
        sa.Column("child_id", sa.Uuid(), nullable=True),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("record_id", sa.Uuid(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("removed_on", sa.Date(), nullable=False),
        sa.Column("row", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["household_id"],
            ["households.id"],
            name=op.f("fk_removed_records_household_id_households"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["child_id"], ["children.id"], name=op.f("fk_removed_records_child_id_children"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_removed_records")),
    )
    op.create_index("ix_removed_records_household_id", "removed_records", ["household_id"])
    op.create_index("ix_removed_records_child_id", "removed_records", ["child_id"])


def downgrade() -> None:
    op.drop_table("removed_records")
    op.drop_table("retention_runs")
    op.drop_column("kept_replies", "old_since")
