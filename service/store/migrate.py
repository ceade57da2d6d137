"""Brings a store's tables to the state this version needs, up or down, each time whole or not at all."""

from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Connection, inspect, text

from service.domain.errors import StoreFault
from service.domain.messages import message
from service.store.database import Store, connect, one_at_a_time

if TYPE_CHECKING:
    from alembic.config import Config

HEAD = "0013"
"""The newest migration; a test checks it against the folder."""
MIGRATIONS = Path(__file__).parent / "migrations"


def open_store(url: str) -> Store:
    """A store whose tables are those of this version: made if it is empty, brought up if an older version wrote it.

    ``StoreFault`` if a newer version wrote it, or if it cannot be opened or written.
    """
    store = connect(url)
    try:
        with store.reading() as connection:
            found = revision_of(connection)
        if found != HEAD:
            upgrade(store)
    except BaseException:
        store.close()
        raise
    return store


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
            raise StoreFault(
                pointer="",
                value="the store",
                problem=message("fault.store-newer"),
            )
        if up:
            command.upgrade(config, to)
        else:
            command.downgrade(config, to)


def _config(connection: Connection) -> "Config":
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.attributes["connection"] = connection
    return config
