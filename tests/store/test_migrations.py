"""Promise: tables go up and down step by step; what an older version wrote is there; a newer version's store is left alone.

What the tables must be is read from ``tables.py`` by Alembic's own comparison.
"""

import threading

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import inspect, text
from sqlalchemy.exc import DBAPIError

from service.domain.errors import StoreFault
from service.store.database import Store, connect
from service.store.migrate import HEAD, MIGRATIONS, downgrade, open_store, revision_of, upgrade
from service.store.tables import METADATA
from tests.refused import refused
from tests.store.filled import everything, fill

OF_BODIES_ONLY = ["0003", "0005", "0014"]
"""Migrations that change what is in the tables and not the tables."""
REVISIONS = [one.revision for one in reversed(list(ScriptDirectory(str(MIGRATIONS)).walk_revisions()))]


def _differences(store: Store) -> list[object]:
    with store.reading() as connection:
        return list(compare_metadata(MigrationContext.configure(connection, opts={"compare_type": True}), METADATA))


def _shape(store: Store) -> dict[str, object]:
    """All that the database says of its tables."""
    with store.reading() as connection:
        seen = inspect(connection)
        return {
            name: (
                [(one["name"], str(one["type"]), one["nullable"]) for one in seen.get_columns(name)],
                sorted((str(one["name"]), tuple(one["column_names"])) for one in seen.get_indexes(name)),
                sorted((str(one["name"]), tuple(one["column_names"])) for one in seen.get_unique_constraints(name)),
                sorted((str(one["name"]), str(one["options"])) for one in seen.get_foreign_keys(name)),
                seen.get_pk_constraint(name),
            )
            for name in sorted(seen.get_table_names())
        }


def test_the_newest_migration_is_the_one_named() -> None:
    """HEAD is the last of the folder, and there is one line of them."""
    assert ScriptDirectory(str(MIGRATIONS)).get_heads() == [HEAD]


def test_the_migrations_make_the_tables_of_this_version(store: Store) -> None:
    """Nothing differs from ``tables.py``: no column, no type, no index, no key."""
    assert _differences(store) == []


def test_every_step_up_and_down(empty_url: str) -> None:
    """Down from each revision and up again gives the same tables; down to nothing leaves none."""
    store = connect(empty_url)
    shapes = []
    for revision in REVISIONS:
        upgrade(store, revision)
        shapes.append(_shape(store))
    assert len({str(shape) for shape in shapes}) == len(REVISIONS) - len(OF_BODIES_ONLY)
    for number in range(len(REVISIONS) - 1, 0, -1):
        downgrade(store, REVISIONS[number - 1])
        assert _shape(store) == shapes[number - 1]
    downgrade(store, "base")
    with store.reading() as connection:
        assert inspect(connection).get_table_names() == ["alembic_version"]
        assert revision_of(connection) is None
    upgrade(store)
    assert _shape(store) == shapes[-1]
    assert _differences(store) == []
    store.close()


@pytest.mark.parametrize("older", REVISIONS[:-1])
def test_what_an_older_version_wrote_is_there(store_url: str, older: str) -> None:
    """A full store at the tables of an older version is opened by this one: every row that it could hold is kept."""
    store = open_store(store_url)
    fill(store)
    before = everything(store)
    downgrade(store, older)
    with store.reading() as connection:
        kept = set(inspect(connection).get_table_names())
    store.close()
    again = open_store(store_url)
    with again.reading() as connection:
        assert revision_of(connection) == HEAD
    assert everything(again) == {name: rows if name in kept else [] for name, rows in before.items()}
    assert sum(len(rows) for rows in everything(again).values()) > 80
    again.close()


def test_a_store_of_a_newer_version_is_left_alone(store_url: str) -> None:
    """Opening it is refused with the remedy, and not a row is touched."""
    store = open_store(store_url)
    fill(store, 2)
    before = everything(store)
    with store.writing() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with refused(StoreFault, match="newer version of this program"):
        open_store(store_url)
    assert everything(store) == before
    store.close()


def test_several_open_an_empty_store_at_once(empty_url: str) -> None:
    """Workers that start together: one makes the tables, the others wait for it."""
    faults: list[Exception] = []

    def open_one() -> None:
        try:
            open_store(empty_url).close()
        except Exception as fault:
            faults.append(fault)

    workers = [threading.Thread(target=open_one) for _ in range(4)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    assert faults == []
    store = connect(empty_url)
    assert _differences(store) == []
    store.close()


def test_a_migration_that_breaks_off_leaves_the_store_as_it_was(store_url: str) -> None:
    """The second step fails for a table that is in its way: the store stays whole at the first."""
    store = open_store(store_url)
    fill(store, 2)
    downgrade(store, "0001")
    with store.writing() as connection:
        connection.execute(text("CREATE TABLE ix_kept_replies_created_at (id INTEGER)"))
    before = _shape(store)
    with pytest.raises((StoreFault, DBAPIError)):
        upgrade(store)
    assert _shape(store) == before
    with store.writing() as connection:
        connection.execute(text("DROP TABLE ix_kept_replies_created_at"))
    upgrade(store)
    assert _differences(store) == []
    store.close()
