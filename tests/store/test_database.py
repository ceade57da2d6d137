"""Promise: a store is opened as its databases need it, and what goes wrong is told in plain words while all is kept.

A full disk is a real one: a small file system mounted for the test (Linux, as root); a folder that may not be written to
is tried as a user that is not root.
"""

import os
import pwd
import random
import shutil
import stat
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, text
from sqlalchemy.exc import IntegrityError

from service.domain.errors import BadInput, NotThere, StoreFault
from service.reference.fault_words import fault_sentence, fault_words
from service.store.access.households import create_household
from service.store.database import BUSY_MS, READER_BUSY_MS, Store, connect
from service.store.household import kinds
from service.store.household.records import create
from service.store.migrate import open_store
from tests.postgres import PostgresServer
from tests.refused import refused
from tests.served import ROOT
from tests.store.filled import everything, fill


def test_sqlite_is_set_up_as_promised(tmp_path: Path) -> None:
    """WAL, foreign keys, full synchronisation, a wait for the writer: asked of SQLite itself, on every connection."""
    store = open_store(f"sqlite:///{tmp_path / 'one.sqlite3'}")
    with store.reading() as one, store.reading() as other:
        for connection in (one, other):
            found = {
                name: connection.execute(text(f"PRAGMA {name}")).scalar()
                for name in ("journal_mode", "foreign_keys", "synchronous", "busy_timeout")
            }
            assert found == {"journal_mode": "wal", "foreign_keys": 1, "synchronous": 2, "busy_timeout": 1_000}
    store.close()


def test_the_file_is_for_its_owner_only(tmp_path: Path) -> None:
    """The file, what SQLite puts next to it, and the folder made for it."""
    before = os.umask(0)
    try:
        store = open_store(f"sqlite:///{tmp_path / 'new folder' / 'one.sqlite3'}")
        fill(store, 2)
        files = list((tmp_path / "new folder").iterdir())
        assert len(files) == 3  # with its WAL and the index of that
        assert {stat.S_IMODE(file.stat().st_mode) for file in files} == {0o600}
        assert stat.S_IMODE((tmp_path / "new folder").stat().st_mode) == 0o700
        store.close()
    finally:
        os.umask(before)


def test_keys_between_tables_hold(store: Store) -> None:
    """A lunch of a child that is not there is refused by the database."""
    household = fill(store, 1)
    columns = {"child_id": household, "day": date(2026, 11, 25), "kind": "none"}
    with refused(NotThere, match="is not here any more"), store.writing() as connection:
        create(connection, kinds.LUNCH, household, {}, columns)
    with pytest.raises(IntegrityError), store.writing() as connection:
        connection.execute(text("UPDATE lunches SET child_id = household_id"))


def test_a_transaction_that_breaks_off_keeps_nothing(store: Store) -> None:
    """All or nothing, whatever the fault is."""
    household = fill(store, 1)
    before = everything(store)

    def half() -> None:
        with store.writing() as connection:
            create(connection, kinds.FOOD, household, {}, {"name": "half"})
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        half()
    assert everything(store) == before


def test_reading_is_one_picture(store: Store) -> None:
    """What is written meanwhile is not seen before the next transaction."""
    household = fill(store, 1)
    count = text("SELECT count(*) FROM foods")
    with store.reading() as reading:
        before = reading.execute(count).scalar()
        with store.writing() as writing:
            create(writing, kinds.FOOD, household, {}, {"name": "meanwhile"})
        assert reading.execute(count).scalar() == before
    with store.reading() as reading:
        assert reading.execute(count).scalar() == before + 1


@pytest.mark.parametrize(
    "url",
    ["", "nonsense", "sqlite://", "sqlite:///:memory:", "mysql://host/name", "sqlite+pysqlite:///x", "http://x"],
)
def test_an_address_of_something_else_is_told(url: str) -> None:
    """With the setting's name and two addresses that would do; the address itself, which may hold a password, is not."""
    with refused(BadInput, match="PACKED_LUNCH_DATABASE_URL") as told:
        connect(url)
    assert "sqlite:////path/to/file" in fault_words(told.value).remedy
    assert "host/name" not in fault_sentence(told.value).replace(fault_words(told.value).remedy, "")


@pytest.mark.postgres
@pytest.mark.parametrize("name", ["postgresql", "postgresql+psycopg"])
def test_a_database_that_does_not_answer_is_told(name: str, postgres_server: PostgresServer) -> None:
    """No server there, or no database of that name: no address, no password in what is shown."""
    for place in ("127.0.0.1:1/lunch", f"127.0.0.1:{postgres_server.port}/no_such_lunch"):
        with refused(StoreFault, match="does not answer") as told:
            open_store(f"{name}://tests:a-password@{place}")
        assert "a-password" not in fault_sentence(told.value)


def test_what_is_no_store_is_told_and_kept(tmp_path: Path) -> None:
    """Another file, and a store of which the middle was overwritten."""
    (tmp_path / "letter").write_text("Dear kitchen, " * 100)
    with refused(StoreFault, match="does not begin as a store does"):
        open_store(f"sqlite:///{tmp_path / 'letter'}")
    assert (tmp_path / "letter").read_text() == "Dear kitchen, " * 100


SCRIPT = """
import os
import pwd
import sys
import tempfile
from service.domain.errors import AnyFault
from service.reference.fault_words import fault_sentence
from service.reference.messages import catalogue
from service.store.household import kinds
from service.store.migrate import open_store
from service.store.household.records import create
from service.store.access.households import create_household
catalogue()
if sys.argv[2:]:
    with tempfile.TemporaryDirectory() as folder:  # load everything first: this user may not read what root installed
        open_store("sqlite:///" + folder + "/warm.sqlite3").close()
    user = pwd.getpwnam(sys.argv[2])
    os.setgroups([])
    os.setgid(user.pw_gid)
    os.setuid(user.pw_uid)
try:
    store = open_store("sqlite:///" + sys.argv[1])
    with store.writing() as connection:
        household = create_household(connection, {})
    number = 0
    while number < 5000:
        with store.writing() as connection:
            create(connection, kinds.FOOD, household, {"text": "x" * 20_000}, {"name": f"food {number}"})
        number += 1
        print("kept", number, flush=True)
except AnyFault as fault:
    print("told", fault_sentence(fault), flush=True)
"""


def _script(file: Path, user: str | None = None) -> list[str]:
    """Write until it does not go on; what was printed."""
    command = [sys.executable, "-c", SCRIPT, str(file), *([user] if user else [])]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout.splitlines()


@contextmanager
def _disk(place: Path, size: str) -> Iterator[Path]:
    """A file system with little room."""
    place.mkdir()
    if os.geteuid() != 0 or shutil.which("mount") is None:
        pytest.skip("only root may mount a small disk to fill")
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(place)], capture_output=True, text=True, check=False
    )
    if done.returncode != 0:
        pytest.skip(f"a small disk cannot be mounted here: {done.stderr.strip()}")
    try:
        yield place
    finally:
        subprocess.run(["umount", "-l", str(place)], check=True)


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system with room for two megabytes."""
    with _disk(tmp_path / "small", "2m") as place:
        yield place


@pytest.mark.postgres
def test_a_full_disk_under_postgresql_is_told_and_all_is_kept(postgres_server: PostgresServer) -> None:
    """A database on a disk with little room: the write that does not fit is told, every one before is there."""
    with _disk(postgres_server.folder / "small", "16m") as place:
        if postgres_server.user is not None:
            shutil.chown(place, postgres_server.user)
        postgres_server.ask(f"CREATE TABLESPACE small LOCATION '{place}'", "postgres")
        postgres_server.ask("CREATE DATABASE crowded TEMPLATE template0 TABLESPACE small", "postgres")
        store = open_store(postgres_server.url("crowded"))
        household = fill(store, 2)
        kept = 0
        told = ""
        while not told and kept < 2_000:
            words = "".join(random.Random(kept).choices("abcdefghij", k=20_000))  # noqa: S311 - not to be squeezed
            try:
                with store.writing() as connection:
                    create(connection, kinds.RECIPE, household, {"text": words}, {"name": f"recipe {kept}"})
            except StoreFault as fault:
                told = fault_sentence(fault)
            else:
                kept += 1
        assert "has no room left on its disk. Make room on the disk; what was there is unchanged." in told
        with store.reading() as connection:
            assert connection.execute(text("SELECT count(*) FROM recipes")).scalar() == kept + 2
        assert kept > 5
        store.close()
        postgres_server.ask("DROP DATABASE crowded WITH (FORCE)", "postgres")
        postgres_server.ask("DROP TABLESPACE small", "postgres")


def test_a_full_disk_is_told_and_all_is_kept(small_disk: Path) -> None:
    """The write that does not fit is told with its remedy; every one before is there, and with room it goes on."""
    ballast = small_disk / "ballast"
    ballast.write_bytes(b"x" * 700_000)
    printed = _script(small_disk / "one.sqlite3")
    kept = len([line for line in printed if line.startswith("kept")])
    assert kept > 5
    assert "has no room left on its disk. Make room on the disk; what was there is unchanged." in printed[-1]
    ballast.unlink()
    store = open_store(f"sqlite:///{small_disk / 'one.sqlite3'}")
    with store.reading() as connection:
        assert connection.execute(text("SELECT count(*) FROM foods")).scalar() == kept
        assert connection.execute(text("PRAGMA integrity_check")).scalar() == "ok"
    fill(store, 1)
    store.close()


def test_a_backup_without_room_leaves_the_one_before(small_disk: Path, tmp_path: Path) -> None:
    """It is written next to and takes the place only when whole."""
    from service.store.backup import write_backup

    store = open_store(f"sqlite:///{tmp_path / 'one.sqlite3'}")
    household = fill(store, 5)
    write_backup(store, small_disk / "kitchen.backup")
    before = (small_disk / "kitchen.backup").read_bytes()
    with store.writing() as connection:
        for number in range(200):
            create(connection, kinds.FOOD, household, {"text": "x" * 20_000}, {"name": f"food {number}"})
    with refused(BadInput, match=r"No space left on device.*what was there is unchanged"):
        write_backup(store, small_disk / "kitchen.backup")
    assert (small_disk / "kitchen.backup").read_bytes() == before
    assert [file.name for file in small_disk.iterdir()] == ["kitchen.backup"]
    store.close()


@pytest.fixture
def others_folder() -> Iterator[tuple[Path, str | None]]:
    """A folder that others may look into, and a user who is not root (None: this one is not)."""
    user = None
    if os.geteuid() == 0:
        try:
            user = pwd.getpwnam("nobody").pw_name
        except KeyError:
            pytest.skip("root may write anywhere, and there is no user 'nobody' to try it as")
    folder = Path(tempfile.mkdtemp(prefix="packed-lunch-"))
    folder.chmod(0o755)
    yield folder, user
    folder.chmod(0o755)
    shutil.rmtree(folder)


def test_a_folder_that_may_not_be_written_to(others_folder: tuple[Path, str | None]) -> None:
    """A new store there, and one that is there already: told; what was there is as it was."""
    folder, user = others_folder
    folder.chmod(0o555)
    (told,) = _script(folder / "new.sqlite3", user)
    assert told.startswith("told")
    assert "Permission denied" in told
    assert "Give a folder that the service's user may write to" in told
    (told,) = _script(folder / "deeper" / "new.sqlite3", user)
    assert "Permission denied" in told
    assert list(folder.iterdir()) == []


def test_a_file_that_may_not_be_written_to(others_folder: tuple[Path, str | None]) -> None:
    """The store of somebody else, in a folder of theirs."""
    folder, user = others_folder
    file = folder / "one.sqlite3"
    store = open_store(f"sqlite:///{file}")
    fill(store, 3)
    before: Any = everything(store)
    store.close()
    file.chmod(0o444)
    folder.chmod(0o555)
    (told,) = _script(file, user)
    assert "may not be written to. Give the service's user the right to write the file and its folder." in told
    again = open_store(f"sqlite:///{file}") if user is not None else None
    if again is not None:
        assert everything(again) == before
        again.close()


def test_what_may_be_left_undone_waits_for_nobody(store: Store) -> None:
    """Written where nobody writes; left out where another holds the row or the file; a fault of the statement is raised."""
    with store.writing() as connection:
        create_household(connection, {"name": "ours"})

    def rename(connection: Connection) -> None:
        connection.execute(text("UPDATE households SET version = 7"))

    assert store.write_unless_busy(rename)
    with store.writing() as connection:
        connection.execute(text("UPDATE households SET version = 8"))
        began = time.monotonic()
        assert not store.write_unless_busy(rename)
        assert time.monotonic() - began < BUSY_MS / 1000 / 2
    with store.reading() as connection:
        assert connection.execute(text("SELECT version FROM households")).scalar() == 8
        if connection.dialect.name == "sqlite":
            assert connection.execute(text("PRAGMA busy_timeout")).scalar() == READER_BUSY_MS
    with pytest.raises(IntegrityError):
        store.write_unless_busy(lambda one: one.execute(text("INSERT INTO households (version) VALUES (1)")))
    assert store.write_unless_busy(rename)


def test_a_fault_of_a_statement_hides_its_values(store: Store) -> None:
    """What the database says of it has no values in it (SQLAlchemy's ``hide_parameters``)."""
    with pytest.raises(IntegrityError) as told, store.writing() as connection:
        connection.execute(text("INSERT INTO households (version) VALUES (:given)"), {"given": 1234567})
    assert "hide_parameters" in str(told.value)
    assert "[parameters" not in str(told.value)
