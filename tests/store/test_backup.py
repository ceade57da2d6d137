"""Promise: a backup is the whole store at one moment, is checked before it replaces anything, and fits both databases."""

import hashlib
import json
import os
import stat
import threading
from pathlib import Path

import pytest

from service.domain.errors import AnyFault, BadInput, StoreFault
from service.store.access.households import create_household
from service.store.backup import read_backup, restore_backup, write_backup
from service.store.database import Store
from service.store.household import kinds
from service.store.household.records import create
from service.store.migrate import HEAD, downgrade, open_store, revision_of
from tests.refused import refused
from tests.store.filled import everything, fill

WRITTEN_WITHIN = 120
"""Seconds after which writers that write nothing have stopped for good, on however busy a machine."""


def test_a_backup_brings_back_everything(store: Store, tmp_path: Path) -> None:
    """Every row of every table, into the store it was made of, after that was changed."""
    fill(store)
    before = everything(store)
    written = write_backup(store, tmp_path / "kitchen.backup")
    assert written.rows == sum(len(rows) for rows in before.values()) > 90
    with store.writing() as connection:
        create_household(connection, {"name": "made after the backup"})
    restore_backup(store, tmp_path / "kitchen.backup")
    assert everything(store) == before


@pytest.mark.postgres
def test_a_backup_of_one_database_fits_the_other(postgres_url: str, tmp_path: Path) -> None:
    """SQLite to PostgreSQL and back: the same rows, and backups of both that differ in nothing but their moment."""
    light = open_store(f"sqlite:///{tmp_path / 'one.sqlite3'}")
    heavy = open_store(postgres_url)
    try:
        fill(light)
        write_backup(light, tmp_path / "one.backup")
        restore_backup(heavy, tmp_path / "one.backup")
        assert everything(heavy) == everything(light)
        write_backup(heavy, tmp_path / "two.backup")
        one, two = ((tmp_path / name).read_bytes().splitlines()[1:-1] for name in ("one.backup", "two.backup"))
        assert one == two
        restore_backup(light, tmp_path / "two.backup")
        assert everything(heavy) == everything(light)
    finally:
        light.close()
        heavy.close()


def test_a_backup_is_for_its_owner_only(store: Store, tmp_path: Path) -> None:
    """It holds what children must not eat: mode 0600 whatever the umask, and nothing next to it is left."""
    fill(store)
    (tmp_path / "b").mkdir()
    before = os.umask(0)
    try:
        write_backup(store, tmp_path / "b" / "kitchen.backup")
    finally:
        os.umask(before)
    files = list((tmp_path / "b").iterdir())
    assert [file.name for file in files] == ["kitchen.backup"]
    assert stat.S_IMODE(files[0].stat().st_mode) == 0o600


def test_its_last_line_is_the_hash_of_the_rest(store: Store, tmp_path: Path) -> None:
    """Against hashlib, read as the format says."""
    fill(store)
    write_backup(store, tmp_path / "kitchen.backup")
    lines = (tmp_path / "kitchen.backup").read_bytes().splitlines(keepends=True)
    last = json.loads(lines[-1])
    assert last == {"end": True, "rows": len(lines) - 2, "sha256": hashlib.sha256(b"".join(lines[:-1])).hexdigest()}


def _damaged(lines: list[bytes]) -> dict[str, bytes]:
    text = b"".join(lines)
    return {
        "empty": b"",
        "breaks off": text[: len(text) // 2],
        "the last line is missing": b"".join(lines[:-1]),
        "one row is missing": b"".join(lines[:5] + lines[6:]),
        "one letter was changed": text.replace(b"Hazel", b"Hazle"),
        "one row twice": b"".join(lines[:6] + lines[5:]),
        "more follows": text + lines[3],
        "another shape": text.replace(b'"packed_lunch_backup":1', b'"packed_lunch_backup":2'),
        "no backup": b'{"children": []}\n',
        "no text": bytes(range(256)) * 10,
        "a table that is none": text.replace(b'"tables":{"households"', b'"tables":{"x; DROP TABLE y"'),
    }


@pytest.mark.parametrize("what", _damaged([b""] * 9))
def test_a_damaged_backup_changes_nothing(store: Store, tmp_path: Path, what: str) -> None:
    """Whatever is wrong with the file: it is told with its line, and the store is as it was."""
    fill(store, 3)
    before = everything(store)
    write_backup(store, tmp_path / "whole")
    bad = _damaged((tmp_path / "whole").read_bytes().splitlines(keepends=True))[what]
    (tmp_path / "bad").write_bytes(bad)
    with refused(BadInput, match=r"bad, line [0-9]+.*nothing was restored"):
        restore_backup(store, tmp_path / "bad")
    assert everything(store) == before


def _signed(lines: list[bytes]) -> bytes:
    body = b"".join(lines)
    end = {"end": True, "rows": len(lines) - 1, "sha256": hashlib.sha256(body).hexdigest()}
    return body + json.dumps(end, separators=(",", ":")).encode() + b"\n"


def test_rows_that_do_not_fit_together_change_nothing(store: Store, tmp_path: Path) -> None:
    """A file with a right hash whose lunches belong to no child is refused by the database's own keys."""
    fill(store, 3)
    before = everything(store)
    write_backup(store, tmp_path / "whole")
    lines = (tmp_path / "whole").read_bytes().splitlines(keepends=True)[:-1]
    (tmp_path / "bad").write_bytes(_signed([line for line in lines if not line.startswith(b'["children"')]))
    with refused(BadInput, match="do not fit together; nothing was restored"):
        restore_backup(store, tmp_path / "bad")
    assert everything(store) == before


def test_a_backup_of_a_newer_version_is_refused(store: Store, tmp_path: Path) -> None:
    """Its tables are not known here."""
    fill(store, 3)
    before = everything(store)
    write_backup(store, tmp_path / "whole")
    lines = (tmp_path / "whole").read_bytes().splitlines(keepends=True)[:-1]
    lines[0] = lines[0].replace(f'"revision":"{HEAD}"'.encode(), b'"revision":"9999"')
    (tmp_path / "newer").write_bytes(_signed(lines))
    assert read_backup(tmp_path / "newer").revision == "9999"
    with refused(StoreFault, match="newer version"):
        restore_backup(store, tmp_path / "newer")
    assert everything(store) == before


def test_a_backup_of_an_older_version_is_brought_up(store: Store, tmp_path: Path) -> None:
    """As an older version wrote it (without the tables and columns that came later): everything is there again."""
    fill(store)
    before = everything(store)
    write_backup(store, tmp_path / "whole")
    lines = (tmp_path / "whole").read_bytes().splitlines(keepends=True)[:-1]
    head = json.loads(lines[0])
    later = {
        "kept_replies", "packets", "packet_photos", "school_days", "sign_in_links", "devices", "stock", "stock_events", "plans",
        "calendar_feeds", "live_source_keys", "retention_runs", "removed_records",
    }  # fmt: skip
    head["tables"] = {name: columns for name, columns in head["tables"].items() if name not in later}
    of_keys = head["tables"]["access_keys"]
    before_ends = [place for place, column in enumerate(of_keys) if column not in ("ends_at", "last_used_at")]
    head["tables"]["access_keys"] = {
        column: of_keys[column] for place, column in enumerate(of_keys) if place in before_ends
    }
    head["revision"] = "0001"
    rows = [json.loads(one) for one in lines[1:]]
    rows = [[name, [row[place] for place in before_ends] if name == "access_keys" else row] for name, row in rows]
    older = [json.dumps(one).encode() + b"\n" for one in (head, *(one for one in rows if one[0] not in later))]
    (tmp_path / "older").write_bytes(_signed(older))
    assert restore_backup(store, tmp_path / "older").backup.revision == "0001"
    assert everything(store) == {**before, **{name: [] for name in later}}
    with store.reading() as connection:
        assert revision_of(connection) == HEAD


def test_restore_into_an_older_store_brings_that_up_first(store_url: str, tmp_path: Path) -> None:
    """What opens a store is always at the present version."""
    store = open_store(store_url)
    fill(store, 3)
    before = everything(store)
    write_backup(store, tmp_path / "kitchen.backup")
    downgrade(store, "0001")
    store.close()
    again = open_store(store_url)
    restore_backup(again, tmp_path / "kitchen.backup")
    assert everything(again) == before
    again.close()


def test_a_backup_while_others_write_is_one_moment(store: Store, tmp_path: Path) -> None:
    """Writers add foods two at a time in one transaction: every backup holds both or neither; so does a restore.

    Before each backup a pair more has been written, however long that takes.
    """
    household = fill(store, 0)
    with store.writing() as connection:
        pair = [create(connection, kinds.CHILD, household, {}, {"name": name}).id for name in ("left", "right")]
    stop, wrote, faults = threading.Event(), threading.Event(), []

    def write(worker: int) -> None:
        number = 0
        while not stop.is_set():
            number += 1
            try:
                with store.writing() as connection:
                    for side in (0, 1):
                        body = {"pair": f"{worker}/{number}"}
                        name = f"{worker}/{number}/{side}"
                        create(connection, kinds.FOOD, household, {**body, "side": side}, {"name": name})
                wrote.set()
            except AnyFault as fault:
                faults.append(fault)

    writers = [threading.Thread(target=write, args=(worker,)) for worker in range(2)]
    for writer in writers:
        writer.start()
    try:
        for number in range(6):
            assert wrote.wait(WRITTEN_WITHIN), faults
            wrote.clear()
            file = tmp_path / f"{number}.backup"
            write_backup(store, file)
            pairs: dict[str, int] = {}
            for line in file.read_bytes().splitlines()[1:-1]:
                name, row = json.loads(line)
                if name == "foods" and "pair" in row[5]:
                    pairs[row[5]["pair"]] = pairs.get(row[5]["pair"], 0) + 1
            assert set(pairs.values()) == {2}
            if number == 3:  # the writers carry on with what was restored under them
                restore_backup(store, tmp_path / "1.backup")
    finally:
        stop.set()
        for writer in writers:
            writer.join()
    assert not faults
    assert len(pair) == 2
