"""Devices that are signed in, the links that sign them in, school days, and photographs of packets."""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "packet_photos",
        sa.Column("packet_id", sa.Uuid(), nullable=False),
        sa.Column("household_id", sa.Uuid(), nullable=False),
        sa.Column("media_type", sa.String(length=40), nullable=False),
        sa.Column("image", sa.LargeBinary(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["packet_id"], ["packets.id"], name=op.f("fk_packet_photos_packet_id_packets"), ondelete="CASCADE"
        ),
        _of_household("packet_photos"),
        sa.PrimaryKeyConstraint("packet_id", name=op.f("pk_packet_photos")),
    )
    op.create_index("ix_packet_photos_household_id", "packet_photos", ["household_id"])
    op.create_table(
        "school_days",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("household_id", sa.Uuid(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        _of_household("school_days"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_school_days")),
        sa.UniqueConstraint("household_id", "day", name=op.f("uq_school_days_household_id_day")),
    )
    _table_of_secrets(
        "sign_in_links", sa.Column("ends_at", sa.DateTime(), nullable=False), sa.Column("used_at", sa.DateTime())
    )
    _table_of_secrets(
        "devices",
        sa.Column("last_used_at", sa.DateTime(), nullable=False),
        sa.Column("ends_at", sa.DateTime(), nullable=False),
        sa.Column("signed_out_at", sa.DateTime()),
    )


def downgrade() -> None:
    for name in ("devices", "sign_in_links", "school_days", "packet_photos"):
        op.drop_table(name)


def _table_of_secrets(name: str, *moments: sa.Column[Any]) -> None:
    op.create_table(
        name,
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("household_id", sa.Uuid(), nullable=False),
        sa.Column("name", sa.String(length=60), nullable=False),
        sa.Column("rights", sa.String(length=10), nullable=False),
        sa.Column("child_id", sa.Uuid()),
        sa.Column("secret_hash", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        *moments,
        _of_household(name),
        sa.ForeignKeyConstraint(
            ["child_id"], ["children.id"], name=op.f(f"fk_{name}_child_id_children"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{name}")),
        sa.UniqueConstraint("secret_hash", name=op.f(f"uq_{name}_secret_hash")),
    )
    op.create_index(f"ix_{name}_household_id", name, ["household_id"])


def _of_household(name: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        ["household_id"], ["households.id"], name=op.f(f"fk_{name}_household_id_households"), ondelete="CASCADE"
    )
