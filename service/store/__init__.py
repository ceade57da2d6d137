"""The household store: all SQL is here, on SQLite or PostgreSQL."""
