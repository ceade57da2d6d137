"""The store's history: one file a change of its tables, run by Alembic."""
