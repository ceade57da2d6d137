"""Promise: a file that is no usable store is told apart from others, nothing is written to it, and what is told to paste works.

Pasted: the commands stand on lines of their own in what is printed, and are run in a shell word for word.
"""

import os
import random
import shutil
import socket
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.domain.errors import BadInput, StoreFault
from service.reference.fault_words import fault_sentence
from service.store.backup import write_backup
from service.store.database import Store
from service.store.files.sqlite_file import APPLICATION_ID, set_aside
from service.store.files.working_folder import working_folder
from service.store.migrate import HEAD, downgrade, open_store, revision_of
from tests.refused import refused
from tests.store.filled import everything, fill
from tests.strategies import LAW

PAGE = 4096


def _empty(file: Path) -> None:
    file.write_bytes(b"")


def _letter(file: Path) -> None:
    file.write_text("Dear kitchen, " * 100)


def _head_damaged(file: Path) -> None:
    file.write_bytes(b"\x00" * 16 + file.read_bytes()[16:])


def _cut(file: Path) -> None:
    file.write_bytes(file.read_bytes()[: 5 * PAGE])


def _pages_damaged(file: Path) -> None:
    content = bytearray(file.read_bytes())
    for begin in range(2 * PAGE, len(content), PAGE):
        content[begin : begin + 200] = b"\xa5" * 200
    file.write_bytes(content)


def _log_alone(file: Path) -> None:
    file.rename(file.with_name(f"{file.name}-wal"))


def _newer(file: Path) -> None:
    with closing(sqlite3.connect(file)) as connection, connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")


def _of_another_program(file: Path) -> None:
    file.unlink()
    with closing(sqlite3.connect(file)) as connection, connection:
        connection.execute("CREATE TABLE songs (name TEXT)")


def _of_another_by_its_mark(file: Path) -> None:
    file.unlink()
    with closing(sqlite3.connect(file)) as connection, connection:
        connection.execute("PRAGMA application_id = 7")


def _folder(file: Path) -> None:
    file.unlink()
    file.mkdir()


def _pipe(file: Path) -> None:
    file.unlink()
    os.mkfifo(file)


def _socket(file: Path) -> None:
    file.unlink()
    here = Path.cwd()
    os.chdir(file.parent)  # its path may be longer than the name of a socket can be
    try:
        with socket.socket(socket.AF_UNIX) as one:
            one.bind(file.name)
    finally:
        os.chdir(here)


def _circle(file: Path) -> None:
    file.unlink()
    file.symlink_to(file)


SPOILT: dict[Callable[[Path], None], str] = {
    _empty: "is an empty file",
    _letter: "does not begin as a store does",
    _head_damaged: "does not begin as a store does",
    _cut: "is damaged",
    _pages_damaged: "is damaged",
    _log_alone: "is missing, but its log of changes is there",
    _newer: "was written by a newer version",
    _of_another_program: "is the database of another program",
    _of_another_by_its_mark: "is the database of another program",
    _folder: "is a folder, pipe, socket, device",
    _pipe: "is a folder, pipe, socket, device",
    _socket: "is a folder, pipe, socket, device",
    _circle: "is a folder, pipe, socket, device or a link that leads back to itself",
}


@pytest.fixture
def house(tmp_path: Path) -> Path:
    """A folder with a space and a quote in its name; in it a store, and outside of it a backup of that."""
    folder = tmp_path / "the Smiths' kitchen"
    folder.mkdir()
    store = open_store(f"sqlite:///{folder / 'one.sqlite3'}")
    fill(store, 3)
    store.close()
    return folder


def _run(url: str, script: str) -> subprocess.CompletedProcess[str]:
    """Run lines in a shell, with the command line on its path."""
    path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    return subprocess.run(
        ["sh", "-e"],
        input=script, text=True, capture_output=True, check=False, timeout=120,
        env={**os.environ, "PATH": path, "PACKED_LUNCH_DATABASE_URL": url},
    )  # fmt: skip


def _to_paste(told: str) -> list[str]:
    return [line.strip() for line in told.splitlines() if line.startswith("    ")]


@pytest.mark.parametrize("spoil", SPOILT, ids=lambda one: one.__name__)
def test_each_is_told_and_what_is_told_works(house: Path, tmp_path: Path, spoil: Callable[[Path], None]) -> None:
    """The first command is refused and leaves the file as it was; pasted, its remedy gives a store that can be used."""
    file = house / "one.sqlite3"
    url = f"sqlite:///{file}"
    spoil(file)
    before = {one.name: one.read_bytes() for one in house.iterdir() if one.is_file()}
    first = _run(url, "packed-lunch household list")
    assert (first.returncode, first.stdout) == (2, "")
    assert SPOILT[spoil] in first.stderr
    assert "Traceback" not in first.stderr
    assert {one.name: one.read_bytes() for one in house.iterdir() if one.is_file()} == before
    commands = [one for one in _to_paste(first.stderr) if "BACKUP" not in one]
    assert len(commands) == 1
    again = _run(
        url, "\n".join([*commands, "packed-lunch household make --json", "packed-lunch household list --json"])
    )
    assert again.returncode == 0, again.stderr
    kept = [
        one for one in house.iterdir() if one.is_file() and one.name not in ("one.sqlite3", "packed-lunch-2.sqlite3")
    ]
    if "set-aside" in commands[0]:
        assert [one.read_bytes() for one in kept] == list(before.values())


def test_a_backup_takes_the_place_of_a_damaged_store(house: Path, tmp_path: Path) -> None:
    """Both commands as they are printed, with the path of a backup in the place of BACKUP."""
    url = f"sqlite:///{tmp_path / 'lived in' / 'two.sqlite3'}"
    made = _run(url, f"packed-lunch household make\npacked-lunch backup '{tmp_path / 'kitchen.backup'}'")
    assert made.returncode == 0, made.stderr
    _pages_damaged(tmp_path / "lived in" / "two.sqlite3")
    told = _run(url, f"packed-lunch backup '{tmp_path / 'after.backup'}'").stderr
    commands = [one.replace("BACKUP", f"'{tmp_path / 'kitchen.backup'}'") for one in _to_paste(told)]
    assert len(commands) == 2
    done = _run(url, "\n".join([*commands, "packed-lunch household list"]))
    assert done.returncode == 0, done.stderr
    assert "our household" in done.stdout
    assert not (tmp_path / "after.backup").exists()


def test_a_store_in_use_is_not_put_aside(house: Path) -> None:
    """It would go on being written to under its new name."""
    file = house / "one.sqlite3"
    with closing(open_store(f"sqlite:///{file}")) as store:
        with store.reading() as connection:
            revision_of(connection)
        told = _run(
            f"sqlite:///{file}",
            f"packed-lunch set-aside '{str(file).replace(chr(39), chr(39) + chr(92) + chr(39) * 2)}'",
        )
    assert told.returncode == 2
    assert "is in use" in told.stderr
    assert file.exists()
    with refused(BadInput, match="is not there"):
        set_aside(house / "none.sqlite3")


def test_a_new_store_is_marked_and_an_older_one_is_from_now_on(tmp_path: Path) -> None:
    """The mark stands at byte 68 of the file; without it a store is known by its tables."""
    for name in ("new", "older"):
        open_store(f"sqlite:///{tmp_path / name}").close()
    with closing(sqlite3.connect(tmp_path / "older")) as connection, connection:
        connection.execute("PRAGMA application_id = 0")
    open_store(f"sqlite:///{tmp_path / 'older'}").close()
    for name in ("new", "older"):
        assert (tmp_path / name).read_bytes()[68:72] == b"Lnch" == APPLICATION_ID.to_bytes(4, "big")


@pytest.fixture
def read_only(house: Path, tmp_path: Path) -> Iterator[Callable[[], Path]]:
    """Shows the store's folder again where nothing can be written, as a disk that was mounted so; gives the store there."""
    shown = tmp_path / "shown"
    shown.mkdir()

    def show() -> Path:
        for words in (["--bind", str(house), str(shown)], ["-o", "remount,bind,ro", str(shown)]):
            if (
                shutil.which("mount") is None
                or subprocess.run(["mount", *words], capture_output=True, check=False).returncode
            ):
                pytest.skip("no folder can be mounted to be read only here")
        return shown / "one.sqlite3"

    yield show
    subprocess.run(["umount", str(shown)], capture_output=True, check=False)


def _seen(file: Path) -> tuple[dict[str, list[str]], Store]:
    store = open_store(f"sqlite:///{file}")
    return everything(store), store


@pytest.mark.parametrize("left", ["nothing", "log", "log without its index", "an older version"])
def test_what_cannot_be_written_to_can_be_read(
    house: Path, read_only: Callable[[], Path], tmp_path: Path, left: str
) -> None:
    """Closed in order; as a killed program leaves it; and of an older version, which is brought up in a copy."""
    file = house / "one.sqlite3"
    with closing(open_store(f"sqlite:///{file}")) as store:
        fill(store, 2)
        expected = everything(store)
        if left.startswith("log"):
            (house / "kept").mkdir()
            for end in ("", "-wal", "-shm"):
                shutil.copyfile(f"{file}{end}", house / "kept" / f"one.sqlite3{end}")
        if left == "an older version":
            downgrade(store, "0009")
    for one in (house / "kept").glob("*") if left.startswith("log") else ():
        shutil.copyfile(one, house / one.name)
    if left == "log without its index":
        (house / "one.sqlite3-shm").unlink()
    before = {one.name: one.read_bytes() for one in house.iterdir() if one.is_file()}
    found, store = _seen(read_only())
    with closing(store):
        later = {"live_source_keys", "removed_records", "retention_runs"} if left == "an older version" else set()
        assert {name: rows for name, rows in found.items() if name not in later} == {
            name: rows for name, rows in expected.items() if name not in later
        }
        assert store.read_only
        write_backup(store, tmp_path / "rescued.backup")
        with refused(StoreFault, match="may not be written to"), store.writing():
            pass
        with store.reading() as connection:
            assert revision_of(connection) == HEAD
    assert {one.name: one.read_bytes() for one in house.iterdir() if one.is_file()} == before


KILLED = """
import os, signal, sys, pathlib
from service.store.files.whole_file import whole_file
from service.store.files.working_folder import working_folder
with working_folder() as folder, whole_file(pathlib.Path(sys.argv[1])) as file:
    file.write(b"half"); file.flush()
    print(folder, flush=True)
    if sys.argv[2] == "kill":
        os.kill(os.getpid(), signal.SIGKILL)
    sys.stdin.read()
"""


def test_what_killed_runs_left_is_removed_by_the_next(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The part of a file and the folder of some work; not those of a run that goes on, nor of a name that only begins alike."""
    from service.store.files.whole_file import whole_file

    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    environment = {**os.environ, "TMPDIR": str(tmp_path)}
    words = [sys.executable, "-c", KILLED, str(tmp_path / "out")]
    with subprocess.Popen(
        [*words, "wait"], env=environment, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as going:
        assert going.stdout is not None
        assert going.stdin is not None
        folder = going.stdout.readline().strip()
        alive = {*tmp_path.iterdir()}
        assert len(alive) == 2
        (tmp_path / ".out.csv.12.part").write_text("of another file")
        killed = subprocess.run([*words, "kill"], env=environment, capture_output=True, check=False)
        assert killed.returncode < 0
        assert len({*tmp_path.iterdir()}) == 5
        with whole_file(tmp_path / "out") as file, working_folder():
            file.write(b"whole")
        assert {*tmp_path.iterdir()} == alive | {tmp_path / "out", tmp_path / ".out.csv.12.part"}
        assert Path(folder).stat().st_mode & 0o777 == 0o700
        going.stdin.close()
    assert (tmp_path / "out").read_bytes() == b"half"  # the run that went on has written its own


@pytest.mark.property
@given(seed=st.integers(0, 2**32))
@settings(LAW, max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
def test_a_store_with_bytes_changed_is_told_or_read(house: Path, tmp_path: Path, seed: int) -> None:
    """Wherever: it is opened and backed up, or it is told; a backup that was there before stays as it was."""
    chance = random.Random(seed)  # noqa: S311 - where to damage
    content = bytearray((house / "one.sqlite3").read_bytes())
    for _ in range(chance.randint(1, 30)):
        place = chance.randrange(chance.choice([100, PAGE, len(content)]))
        content[place : place + chance.choice([1, 1, 8, 300])] = chance.randbytes(chance.choice([1, 1, 8, 300]))
    file = tmp_path / f"{seed}.sqlite3"
    file.write_bytes(content)
    (tmp_path / "a.backup").write_bytes(b"before")
    try:
        with closing(open_store(f"sqlite:///{file}")) as store:
            write_backup(store, tmp_path / "a.backup")
    except StoreFault as fault:
        assert fault_sentence(fault)  # noqa: PT017 - either is right
        assert (tmp_path / "a.backup").read_bytes() == b"before"
