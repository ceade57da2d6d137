"""Promise: a store opens at the tables of this version, on both databases."""

from sqlalchemy import text

from service.store.database import Store
from service.store.migrate import HEAD, revision_of


def test_open(store: Store) -> None:
    with store.reading() as connection:
        assert revision_of(connection) == HEAD
        assert connection.execute(text("SELECT 1")).scalar() == 1
