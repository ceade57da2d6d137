"""Promise: each command that looks after the store does what it says, tells what it did, and refuses in plain words."""

import json
import stat
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
import time_machine
from typer.testing import CliRunner

from service.cli.main import app
from service.settings import settings
from service.store.database import Store
from service.store.migrate import open_store
from tests.store.filled import everything

Run = Callable[..., Any]


@pytest.fixture
def run(store_url: str, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs a command on a store of this test's own; gives its JSON, or with ``code`` what it told on standard error."""
    monkeypatch.setenv("PACKED_LUNCH_DATABASE_URL", store_url)
    settings.cache_clear()

    def one(*words: str, code: int = 0) -> Any:
        done = CliRunner().invoke(app, [*words, "--json"])
        assert done.exit_code == code, done.output
        return json.loads(done.stdout if code == 0 else done.stderr)

    return one


@pytest.fixture(autouse=True)
def _forget_settings() -> Any:
    yield
    settings.cache_clear()


def _told(faults: Any) -> str:
    (fault,) = faults["faults"]
    assert fault["remedy"]
    return f"{fault['pointer']} {fault['value']} {fault['problem']}"


def test_a_household_and_its_keys(run: Run, store: Store) -> None:
    """Made, listed, revoked; a secret is shown once and nowhere kept; the last key that may do everything stays."""
    made = run("household", "make", "--name", "Hazel", "--retention-months", "6")
    (listed,) = run("household", "list")["households"]
    assert listed == {
        "id": made["household"], "name": "Hazel", "retention_months": 6, "salts_cooking_water": None, "holding": None, "keep_in_fridge": [], "regions": None,
        "children": 0, "lunches": 0, "keys": 1,
    }  # fmt: skip
    edited = run("household", "edit", "--salts-cooking-water")
    assert (edited["name"], edited["retention_months"], edited["salts_cooking_water"]) == ("Hazel", 6, True)
    assert run("household", "edit", "--name", "Aspen")["salts_cooking_water"] is True
    tablet = run("keys", "make", "kitchen tablet", "--rights", "pack")
    assert len(tablet["key"]) >= 43  # 256 bits in base64
    keys = run("keys", "list")["keys"]
    assert [(one["name"], one["rights"], one["revoked_at"]) for one in keys] == [
        ("first key", "keep", None), ("kitchen tablet", "pack", None),
    ]  # fmt: skip
    for secret in (made["key"], tablet["key"]):
        assert secret not in str(everything(store))
    run("keys", "revoke", tablet["id"])
    assert run("keys", "list")["keys"][1]["revoked_at"]
    assert "last access key" in _told(run("keys", "revoke", keys[0]["id"], code=2))
    assert "is not an access key here" in _told(run("keys", "revoke", "7", code=2))
    assert "is not a household here" in _told(run("keys", "list", "--household", "7", code=2))


def test_the_demo_is_kept_moved_and_brought_back(run: Run, store: Store, tmp_path: Path) -> None:
    """Demo, backup, export, removal, import, restore: at the end all is as it was at the backup."""
    demo = run("demo", "--keep")
    assert 3 * 15 < demo["lunches"] <= 3 * 20  # three whole weeks, and this one as far as it has come
    before = everything(store)
    saved = run("backup", str(tmp_path / "kitchen.backup"))
    assert saved["rows"] == sum(map(len, before.values()))
    assert stat.S_IMODE((tmp_path / "kitchen.backup").stat().st_mode) == 0o600
    assert run("export", "--out", str(tmp_path / "one.json"))["lunches"] == demo["lunches"]
    run("export", "--csv", "--out", str(tmp_path / "one.zip"))
    assert run("export", "--log", "--out", str(tmp_path / "log.parquet"))["lunches"] == demo["lunches"]
    log = pd.read_parquet(tmp_path / "log.parquet")
    packed = [one for one in json.loads((tmp_path / "one.json").read_bytes())["lunches"] if one["body"]["items"]]
    assert log["lunch"].nunique() == len(packed)
    assert len(log) == sum(len(one["body"]["items"]) for one in packed)
    assert "--yes" in _told(run("household", "remove", demo["household"], code=2))
    run("household", "remove", demo["household"], "--yes")
    assert not any(everything(store).values())
    assert run("import", str(tmp_path / "one.zip"))["household"] == demo["household"]
    run("export", "--out", str(tmp_path / "again.json"))
    assert (tmp_path / "again.json").read_bytes() == (tmp_path / "one.json").read_bytes()
    assert "--replace" in _told(run("restore", str(tmp_path / "kitchen.backup"), code=2))
    run("restore", str(tmp_path / "kitchen.backup"), "--replace")
    assert everything(store) == before
    assert "kept already" in _told(run("demo", "--keep", code=2))


def test_into_the_household_of_the_first_start(run: Run, tmp_path: Path) -> None:
    """An export goes into an empty household, whose key then opens it."""
    demo = run("demo", "--keep")
    run("export", "--out", str(tmp_path / "one.json"))
    run("household", "remove", demo["household"], "--yes")
    empty = run("household", "make")["household"]
    assert run("import", str(tmp_path / "one.json"), "--household", empty)["household"] == empty
    assert run("household", "list")["households"][0]["lunches"] == demo["lunches"]


def test_purge(run: Run, store: Store) -> None:
    """The demo's weeks are younger than its thirteen months; what a month's retention says goes is in test_retention."""
    demo = run("demo", "--keep")
    (done,) = run("purge")["households"]
    assert done["removed"] == 0
    assert len(everything(store)["lunches"]) == demo["lunches"]


def test_purge_by_a_clock_two_years_ahead(store: Store, store_url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """It removes nothing, says so and ends with 1; said to be right, it removes; what it removed is listed and put back."""
    monkeypatch.setenv("PACKED_LUNCH_DATABASE_URL", store_url)
    settings.cache_clear()

    def run(*words: str, code: int = 0) -> str:
        done = CliRunner().invoke(app, words)
        assert done.exit_code == code, done.output
        return done.stdout

    run("demo", "--keep", "--json")
    lunches = everything(store)["lunches"]
    run("purge")
    with time_machine.travel(datetime.now(UTC) + timedelta(731)):
        told = run("purge", code=1)
        assert f"Not removed: {len(lunches)} lunches" in told
        assert "packed-lunch purge --date-is-right" in told
        assert json.loads(run("purge", "--json", code=1))["households"][0]["held_back"]["lunches"] == len(lunches)
        assert everything(store)["lunches"] == lunches
        assert "packed-lunch removed --put-back" in run("purge", "--date-is-right")
    assert everything(store)["lunches"] == []
    assert f"{len(lunches)} lunches from " in run("removed")
    assert f"Put back: {len(lunches)} lunches." in run("removed", "--put-back")
    assert everything(store)["lunches"] == lunches
    assert "nothing to put back" in run("removed", "--put-back")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("backup", "/no/such/folder/x"), "cannot be written (No such file or directory)"),
        (("backup", "/"), "is a folder"),
        (("backup", "/tmp"), "cannot be written (Is a directory)"),  # noqa: S108 - a folder that is there
        (("restore", "/no/such/file"), "cannot be read (No such file or directory)"),
        (("import", "/no/such/file"), "cannot be read (No such file or directory)"),
        (("export", "--out", "x.json"), "0 is the number of households"),
        (("household", "remove", "7"), "is not a household here"),
    ],
)
def test_what_cannot_be_done_is_told(run: Run, words: tuple[str, ...], told: str) -> None:
    """Exit code 2, field, value, problem and remedy."""
    assert told in _told(run(*words, code=2))


def test_sentences_for_people(store_url: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Without --json: whom a backup is for, how the demo is looked at, the key once."""
    monkeypatch.setenv("PACKED_LUNCH_DATABASE_URL", store_url)
    settings.cache_clear()
    demo = CliRunner().invoke(app, ["demo", "--keep"])
    assert demo.exit_code == 0
    assert "shown this once" in demo.stdout
    assert "Authorization: Bearer" in demo.stdout
    backup = CliRunner().invoke(app, ["backup", str(tmp_path / "b")])
    assert "only you can read it" in backup.stdout
    for words in (["household", "list"], ["keys", "list"], ["purge"]):
        assert CliRunner().invoke(app, words).exit_code == 0
    open_store(store_url).close()
