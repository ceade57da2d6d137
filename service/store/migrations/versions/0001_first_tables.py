"""The first tables: households, access keys, and the records of a household."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "households",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_households")),
    )
    op.create_table(
        "access_keys",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("household_id", sa.Uuid(), nullable=False),
        sa.Column("name", sa.String(length=60), nullable=False),
        sa.Column("rights", sa.String(length=10), nullable=False),
        sa.Column("secret_hash", sa.String(length=64), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("revoked_at", sa.DateTime(), nullable=True),
        sa.ForeignKeyConstraint(
            ["household_id"], ["households.id"], name=op.f("fk_access_keys_household_id_households"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_access_keys")),
        sa.UniqueConstraint("secret_hash", name=op.f("uq_access_keys_secret_hash")),
    )
    with op.batch_alter_table("access_keys", schema=None) as batch_op:
        batch_op.create_index("ix_access_keys_household_id", ["household_id"], unique=False)

    for name in ("children", "foods", "offers"):
        _create_records(name, sa.Column("name", sa.String(length=120), nullable=False), unique=("household_id", "name"))
    _create_records(
        "prices",
        sa.Column("what", sa.String(length=160), nullable=False),
        sa.Column("from_day", sa.Date(), nullable=False),
        unique=("household_id", "what", "from_day"),
    )
    _create_records(
        "recipes", sa.Column("name", sa.String(length=120), nullable=False), unique=("household_id", "name")
    )
    _create_records(
        "lunches",
        sa.Column("child_id", sa.Uuid(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("kind", sa.String(length=10), nullable=False),
        sa.ForeignKeyConstraint(
            ["child_id"], ["children.id"], name=op.f("fk_lunches_child_id_children"), ondelete="CASCADE"
        ),
        unique=("child_id", "day"),
    )
    with op.batch_alter_table("lunches", schema=None) as batch_op:
        batch_op.create_index("ix_lunches_household_id_day", ["household_id", "day"], unique=False)


def _create_records(name: str, *beside: sa.schema.SchemaItem, unique: tuple[str, ...]) -> None:
    """A table of records: an id, a household, a version, two times and a body, and some columns ``beside`` these."""
    op.create_table(
        name,
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("household_id", sa.Uuid(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        *beside,
        sa.ForeignKeyConstraint(
            ["household_id"], ["households.id"], name=op.f(f"fk_{name}_household_id_households"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{name}")),
        sa.UniqueConstraint(*unique, name=op.f(f"uq_{name}_{'_'.join(unique)}")),
    )


def downgrade() -> None:
    with op.batch_alter_table("lunches", schema=None) as batch_op:
        batch_op.drop_index("ix_lunches_household_id_day")

    op.drop_table("lunches")
    op.drop_table("recipes")
    op.drop_table("prices")
    op.drop_table("offers")
    op.drop_table("foods")
    op.drop_table("children")
    with op.batch_alter_table("access_keys", schema=None) as batch_op:
        batch_op.drop_index("ix_access_keys_household_id")

    op.drop_table("access_keys")
    op.drop_table("households")
