"""Brings a store's tables to the state this version needs, up or down, each time whole or not at all."""

from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Connection, inspect, text

from service.domain.errors import StoreFault
from service.domain.messages import message
from service.store.database import Store, connect, copy_of, one_at_a_time
from service.store.files.sqlite_file import APPLICATION_ID, damaged, set_aside_command

if TYPE_CHECKING:
    from alembic.config import Config

HEAD = "0014"
"""The newest migration; a test checks it against the folder."""
MIGRATIONS = Path(__file__).parent / "migrations"


def open_store(url: str) -> Store:
    """A store whose tables are those of this version: made if it is empty, brought up if an older version wrote it.

    One that may only be read is opened so; if an older version wrote it, a copy of it is brought up.
    ``StoreFault`` if a newer version wrote it, or if it cannot be opened.
    """
    store = connect(url)
    try:
        with store.reading() as connection:
            found = revision_of(connection)
        if found != HEAD and store.read_only and store.file is not None:
            store.close()
            store = copy_of(store.file)
            upgrade(store)
            store.read_only = True
        elif found != HEAD:
            upgrade(store)
        if not store.read_only:
            _mark(store)
    except BaseException as fault:
        store.close()
        if isinstance(fault, StoreFault) and fault.code == "store-damaged" and store.file is not None:
            raise damaged(store.file) from fault
        raise
    return store


def _mark(store: Store) -> None:
    """Put our mark in the head of a SQLite file that an older version has made."""
    if store.engine.dialect.name != "sqlite":
        return
    with store.reading() as connection:
        marked = connection.execute(text("PRAGMA application_id")).scalar()
    if marked != APPLICATION_ID:
        with store.writing() as connection:
            connection.execute(text(f"PRAGMA application_id={APPLICATION_ID}"))


def revision_of(connection: Connection) -> str | None:
    """The migration that a store stands at; None for an empty one."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar()


def known_revisions() -> set[str]:
    """The migrations that this version knows."""
    from alembic.script import ScriptDirectory

    return {script.revision for script in ScriptDirectory(str(MIGRATIONS)).walk_revisions()}


def upgrade(store: Store, to: str = HEAD) -> None:
    """Run the migrations up to one."""
    _run(store, to, up=True)


def downgrade(store: Store, to: str) -> None:
    """Run the migrations back to one, or to ``base``: an empty store."""
    _run(store, to, up=False)


def _run(store: Store, to: str, *, up: bool) -> None:
    from alembic import command

    with store.writing() as connection:
        one_at_a_time(connection)
        config = _config(connection)
        found = revision_of(connection)
        if found is not None and found not in known_revisions():
            raise _newer(store)
        if up:
            command.upgrade(config, to)
        else:
            command.downgrade(config, to)


def _newer(store: Store) -> StoreFault:
    if store.file is None:
        return StoreFault(pointer="", value="the store", problem=message("fault.store-newer"))
    problem = message("fault.store-file-newer", command=set_aside_command(store.file))
    return StoreFault(pointer="", value=str(store.file), problem=problem)


def _config(connection: Connection) -> "Config":
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.attributes["connection"] = connection
    return config
