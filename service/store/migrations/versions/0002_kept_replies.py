"""Replies are kept for a while, so that a repeated request is not carried out twice."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "kept_replies",
        sa.Column("household_id", sa.Uuid(), nullable=False),
        sa.Column("idempotency_key", sa.String(length=255), nullable=False),
        sa.Column("request_hash", sa.String(length=64), nullable=False),
        sa.Column("status", sa.Integer(), nullable=False),
        sa.Column("headers", sa.JSON(), nullable=False),
        sa.Column("reply", sa.LargeBinary(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["household_id"],
            ["households.id"],
            name=op.f("fk_kept_replies_household_id_households"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("household_id", "idempotency_key", name=op.f("pk_kept_replies")),
    )
    with op.batch_alter_table("kept_replies", schema=None) as batch_op:
        batch_op.create_index("ix_kept_replies_created_at", ["created_at"], unique=False)


def downgrade() -> None:
    with op.batch_alter_table("kept_replies", schema=None) as batch_op:
        batch_op.drop_index("ix_kept_replies_created_at")

    op.drop_table("kept_replies")
