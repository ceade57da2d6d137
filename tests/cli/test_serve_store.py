"""Promise: the first start makes a household and shows its key once; a store is cared for while it is served."""

import json
import os
import re
import shutil
import subprocess
import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import update

from service.jobs.household.access.access_keys import make_first_key
from service.jobs.household.demo import keep_demo_household
from service.store.access.households import create_household
from service.store.household import kinds
from service.store.household.records import create
from service.store.migrate import open_store
from service.store.tables import households
from tests.cli.commands import command
from tests.served import ROOT, Server, served, served_at_terminal
from tests.store.filled import everything

SECRET = re.compile(r"^ {4}([A-Za-z0-9_-]{43})$", re.MULTILINE)


def _asked(server: Server, secret: str, path: str) -> tuple[int, Any]:
    status, body = server.ask("GET", path, headers={"Authorization": f"Bearer {secret}"})
    return status, json.loads(body)


def test_the_first_start_shows_a_key_once(store_url: str) -> None:
    """The key opens the new household; the second start shows none, and the key still opens it."""
    with served_at_terminal(PACKED_LUNCH_DATABASE_URL=store_url) as server:
        pass
    (secret,) = SECRET.findall(server.output)
    with served_at_terminal(PACKED_LUNCH_DATABASE_URL=store_url) as again:
        assert _asked(again, secret, "/v1/children") == (200, {"items": [], "next": None})
        assert _asked(again, "x" * 43, "/v1/children")[0] == 401
    assert SECRET.findall(again.output) == []
    assert secret not in again.output


def test_lunches_kept_too_long_are_removed_at_the_start(store_url: str) -> None:
    """One on either side of the household's two months."""
    store = open_store(store_url)
    today = date.today()  # noqa: DTZ011 - as the server counts
    with store.writing() as connection:
        household = create_household(connection, {"retention_months": 2})
        child = create(connection, kinds.CHILD, household, {}, {"name": "rowan"})
        for day in (today - timedelta(70), today - timedelta(50)):
            create(connection, kinds.LUNCH, household, {}, {"child_id": child.id, "day": day, "kind": "none"})
    with served(PACKED_LUNCH_DATABASE_URL=store_url):
        pass
    assert len(everything(store)["lunches"]) == 1
    store.close()


def test_what_is_logged_before_the_server_listens_has_the_form_of_the_log(store_url: str) -> None:
    """A household that was last used years ago, by the clock: what is held back is a line of the log with its time."""
    store = open_store(store_url)
    long_ago = date.today() - timedelta(1_500)  # noqa: DTZ011 - as the server counts
    with store.writing() as connection:
        household = create_household(connection, {})
        child = create(connection, kinds.CHILD, household, {}, {"name": "rowan"})
        create(connection, kinds.LUNCH, household, {}, {"child_id": child.id, "day": long_ago, "kind": "none"})
        moment = datetime(long_ago.year, long_ago.month, long_ago.day, tzinfo=UTC)
        for table in (households, kinds.CHILD.table, kinds.LUNCH.table):
            connection.execute(update(table).values(created_at=moment, updated_at=moment))
    store.close()
    with served(PACKED_LUNCH_DATABASE_URL=store_url) as server:
        pass
    (line,) = [one for one in server.output.splitlines() if "Old records are not removed" in one]
    assert re.match(r"\d{4}-\d\d-\d\dT\S+Z WARNING packed_lunch ", line)


def test_backup_and_restore_while_serving(store_url: str, tmp_path: Path) -> None:
    """What a running server answers is what was restored, without a new start."""
    store = open_store(store_url)
    demo = keep_demo_household(store, date(2026, 11, 25))
    store.close()
    file = str(tmp_path / "kitchen.backup")
    with served(PACKED_LUNCH_DATABASE_URL=store_url) as server:
        before = _asked(server, demo.key, "/v1/lunches?limit=200")
        assert (before[0], len(before[1]["items"])) == (200, len(demo.lunches))
        command(store_url, "backup", file)
        made = command(store_url, "household", "make")
        assert _asked(server, made["key"], "/v1/children")[0] == 200
        command(store_url, "household", "remove", str(demo.household), "--yes")
        assert _asked(server, demo.key, "/v1/lunches")[0] == 401
        command(store_url, "restore", file, "--replace")
        assert _asked(server, demo.key, "/v1/lunches?limit=200") == before
        assert _asked(server, made["key"], "/v1/children")[0] == 401


def test_a_store_that_was_chosen_must_open(tmp_path: Path) -> None:
    """The server does not start, says why and what to do, and ends with 2."""
    (tmp_path / "letter.txt").write_text("no store, " * 100)
    done = subprocess.run(
        [sys.executable, "-m", "service", "serve"],
        cwd=ROOT, env={**os.environ, "PACKED_LUNCH_DATABASE_URL": f"sqlite:///{tmp_path / 'letter.txt'}"},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 2
    assert "does not begin as a store does" in done.stderr
    assert "    packed-lunch set-aside " in done.stderr
    assert (tmp_path / "letter.txt").read_text() == "no store, " * 100


def test_checks_are_served_without_a_store(tmp_path: Path) -> None:
    """Nobody chose a store and the usual folder cannot be made: lunches are checked all the same."""
    (tmp_path / "file").write_text("in the way of a folder")
    environment = {"PACKED_LUNCH_DATABASE_URL": "", "XDG_DATA_HOME": str(tmp_path / "file"), "HOME": str(tmp_path)}
    if sys.platform != "linux":
        pytest.skip("the folder for data hangs on XDG_DATA_HOME on Linux only")
    with served(**environment) as server:
        assert server.ask("GET", "/v1/standards")[0] == 200
    assert "Nothing can be kept" in server.output


def test_the_key_of_the_first_start_is_made_once(store_url: str) -> None:
    """A store with a household gets no second one."""
    store = open_store(store_url)
    assert make_first_key(store)
    assert make_first_key(store) is None
    store.close()


def test_a_store_that_may_not_be_written_to_is_served(tmp_path: Path) -> None:
    """Mounted to be read only: pages and API show it to whoever has a key, and a change is answered 503 with the reason."""
    home, shown = tmp_path / "home", tmp_path / "shown"
    shown.mkdir()
    store = open_store(f"sqlite:///{home / 'one.sqlite3'}")
    demo = keep_demo_household(store, date(2026, 11, 25))
    store.close()
    mounts = (["--bind", str(home), str(shown)], ["-o", "remount,bind,ro", str(shown)])
    if shutil.which("mount") is None or any(
        subprocess.run(["mount", *words], capture_output=True, check=False).returncode for words in mounts
    ):
        pytest.skip("no folder can be mounted to be read only here")
    try:
        with served(PACKED_LUNCH_DATABASE_URL=f"sqlite:///{shown / 'one.sqlite3'}") as server:
            status, found = _asked(server, demo.key, "/v1/children")
            assert (status, len(found["items"])) == (200, 3)
            assert _asked(server, demo.key, "/v1/export")[0] == 200
            headers = {"Authorization": f"Bearer {demo.key}", "Content-Type": "application/json"}
            body = json.dumps({"nickname": "Fir", "standard": "us-school-lunch", "age_group": "grades-k-5"}).encode()
            status, answer = server.ask("POST", "/v1/children", body, headers)
            assert status == 503
            assert "may not be written to" in str(answer)
        assert "may not be written to" in server.output
        command(f"sqlite:///{shown / 'one.sqlite3'}", "export", "--out", str(tmp_path / "rescued.json"))
        assert (tmp_path / "rescued.json").stat().st_mode & 0o777 == 0o600
    finally:
        subprocess.run(["umount", str(shown)], capture_output=True, check=False)
