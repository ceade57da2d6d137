"""Runs the migrations on the connection that ``migrate`` hands over; batch mode, since SQLite alters no columns."""

from alembic import context

from service.store.tables import METADATA

connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=METADATA,
    render_as_batch=True,
    compare_type=True,
    transaction_per_migration=False,
)
with context.begin_transaction():
    context.run_migrations()
