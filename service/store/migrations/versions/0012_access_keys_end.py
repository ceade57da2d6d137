"""When access keys end, and when they were last used."""

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("access_keys", sa.Column("ends_at", sa.DateTime(), nullable=True))
    op.add_column("access_keys", sa.Column("last_used_at", sa.DateTime(), nullable=True))


def downgrade() -> None:
    # A key that ends must not work for ever in an older version, which knows no end.
    op.execute("DELETE FROM access_keys WHERE ends_at IS NOT NULL")
    with op.batch_alter_table("access_keys") as table:
        table.drop_column("last_used_at")
        table.drop_column("ends_at")
