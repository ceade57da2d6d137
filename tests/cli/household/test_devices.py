"""Promise: ``packed-lunch devices`` gives a link for one device, lists what is signed in, and signs it out."""

import json
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner

from service.cli.household.devices import qr_code
from service.cli.main import app
from service.jobs.household.access.access_keys import make_first_key
from service.jobs.household.access.sign_in_links import SignedIn, redeem
from service.settings import settings
from service.store.access.households import all_households
from service.store.database import Store
from service.store.household.kinds import CHILD
from service.store.household.records import create
from service.store.migrate import open_store

LINK = re.compile(r"^ {4}(http://127\.0\.0\.1:8087)/sign-in\?link=([A-Za-z0-9_-]{43})$", re.MULTILINE)


@pytest.fixture
def kitchen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Store:
    """A store with a household, that of the settings."""
    url = f"sqlite:///{tmp_path / 'store.sqlite3'}"
    for name in ("HOST", "PORT"):
        monkeypatch.delenv(f"PACKED_LUNCH_{name}", raising=False)
    monkeypatch.setenv("PACKED_LUNCH_DATABASE_URL", url)
    settings.cache_clear()
    store = open_store(url)
    make_first_key(store)
    monkeypatch.setattr("service.settings.settings", settings.__wrapped__)
    return store


def run(*words: str, code: int = 0) -> str:
    """What a command prints."""
    done = CliRunner().invoke(app, ["devices", *words])
    assert done.exit_code == code, done.output
    return done.output


def added(store: Store, *words: str) -> SignedIn:
    """A device that opened the link it was given."""
    told = json.loads(run("add", *words, "--json"))
    made = redeem(store, told["link"].rpartition("=")[2])
    assert made is not None
    return made


def test_a_link_and_its_code_are_printed(kitchen: Store) -> None:
    """The link signs in one device; the code holds the same link, and it says how long it works."""
    shown = run("add", "kitchen tablet", "--rights", "pack")
    ((base, secret),) = LINK.findall(shown)
    assert qr_code(f"{base}/sign-in?link={secret}").strip() in shown
    assert "ten minutes" in shown
    made = redeem(kitchen, secret)
    assert made is not None
    assert (made.device.name, made.device.rights) == ("kitchen tablet", "pack")
    assert redeem(kitchen, secret) is None


def test_the_code_is_one(kitchen: Store) -> None:
    """Square, with the three finder patterns of ISO/IEC 18004 section 6.3.3 in its corners."""
    lines = qr_code("http://127.0.0.1:8087/sign-in?link=" + "x" * 43).splitlines()
    rows = [row for line in lines for row in (
        "".join("1" if char in " ▄" else "0" for char in line), "".join("1" if char in " ▀" else "0" for char in line)
    )]  # fmt: skip
    width = len(lines[0])
    finder = ["1111111", "1000001", "1011101", "1011101", "1011101", "1000001", "1111111"]
    quiet = 4
    for top, left in ((quiet, quiet), (quiet, width - quiet - 7), (width - quiet - 7, quiet)):
        assert [row[left : left + 7] for row in rows[top : top + 7]] == finder


def test_the_address_of_the_service_can_be_given(kitchen: Store) -> None:
    """Another name, or a proxy with TLS; nothing but an address."""
    told = json.loads(run("add", "--at", "https://kitchen.local:8443/", "--json"))
    assert told["link"].startswith("https://kitchen.local:8443/sign-in?link=")
    ends = datetime.fromisoformat(told["ends_at"]) - datetime.now(UTC)
    assert timedelta(minutes=9) < ends <= timedelta(minutes=10)
    for wrong in (
        "kitchen.local",
        "ftp://kitchen.local",
        "https://",
        "https://kitchen.local/x",
        "https://kitchen.local?x=1",
    ):
        assert "Give scheme, host and port" in run("add", "--at", wrong, code=2)


def test_a_link_for_taking_names_its_child(kitchen: Store) -> None:
    """One of the house; refused before anything is made."""
    with kitchen.writing() as connection:
        household = all_households(connection)[0][0]
        child = create(connection, CHILD, household, {}, {"name": "Wren"})
    assert added(kitchen, "--rights", "take", "--child", str(child.id)).device.child_id == child.id
    assert "Give the id of the child" in run("add", "--rights", "take", code=2)
    assert "Leave the child out" in run("add", "--child", str(child.id), code=2)
    assert "is not a child here" in run("add", "--rights", "take", "--child", str(household), code=2)


def test_devices_are_listed_and_signed_out(kitchen: Store) -> None:
    """One by its id, then all; what cannot be meant is refused."""
    first, _second, _third = (added(kitchen, name) for name in ("one", "two", "three"))
    assert [one["name"] for one in json.loads(run("list", "--json"))["devices"]] == ["one", "two", "three"]
    assert "two" in run("list")
    assert "or --all" in run("sign-out", code=2)
    assert "or --all" in run("sign-out", str(first.device.id), "--all", code=2)
    assert "is not a device here" in run("sign-out", "one", code=2)
    run("sign-out", str(first.device.id))
    assert [one["name"] for one in json.loads(run("list", "--json"))["devices"]] == ["two", "three"]
    assert "2 signed out" in run("sign-out", "--all")
    assert json.loads(run("list", "--json"))["devices"] == []
