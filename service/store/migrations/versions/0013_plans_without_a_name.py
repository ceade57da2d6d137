"""Plans without a name: pages name them by their days, in the language of whoever looks."""

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("plans") as plans:
        plans.alter_column("name", existing_type=sa.String(length=120), nullable=True)


def downgrade() -> None:
    # Such a plan is named by its id: no other plan has that name.
    rows = sa.table("plans", sa.column("id", sa.Uuid()), sa.column("name", sa.String()), sa.column("body", sa.JSON()))
    connection = op.get_bind()
    for found in connection.execute(sa.select(rows.c.id, rows.c.body).where(rows.c.name.is_(None))).all():
        named = rows.update().where(rows.c.id == found.id)
        connection.execute(named.values(name=str(found.id), body={**found.body, "name": str(found.id)}))
    with op.batch_alter_table("plans") as plans:
        plans.alter_column("name", existing_type=sa.String(length=120), nullable=False)
