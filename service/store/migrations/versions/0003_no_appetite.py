"""A child's appetite is kept no longer: nothing ever used it."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

children = sa.table("children", sa.column("id", sa.Uuid()), sa.column("body", sa.JSON()))


def upgrade() -> None:
    for child_id, body in _bodies():
        if "appetite" in body:
            _keep(child_id, {name: value for name, value in body.items() if name != "appetite"})


def downgrade() -> None:
    for child_id, body in _bodies():
        _keep(child_id, {**body, "appetite": "usual"})


def _bodies() -> list[tuple[object, dict[str, object]]]:
    rows = op.get_bind().execute(sa.select(children.c.id, children.c.body))
    return [(row.id, row.body) for row in rows]


def _keep(child_id: object, body: dict[str, object]) -> None:
    op.get_bind().execute(sa.update(children).where(children.c.id == child_id).values(body=body))
