"""Promise: a parent can keep the stock from the command line; what is refused is said and changes nothing.

Use-by days: cooked rice, UK, 24 hours; roast chicken, UK leftovers, 2 days (see ``tests/domain/stock/test_keeping.py``).
"""

import json
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta

import pytest
from typer.testing import CliRunner

from service.cli.main import app
from service.reference.sources import sources
from service.settings import settings
from service.store.access.households import create_household
from service.store.database import Store

Run = Callable[..., str]


@pytest.fixture
def run(store_url: str, store: Store, monkeypatch: pytest.MonkeyPatch) -> Iterator[Run]:
    """Runs a command on the one household of a store; gives what it printed."""
    monkeypatch.setenv("PACKED_LUNCH_DATABASE_URL", store_url)
    monkeypatch.setenv("COLUMNS", "200")
    settings.cache_clear()
    with store.writing() as connection:
        create_household(connection, {"keep_in_fridge": [{"food": "sandwich-ham", "portions": 2}]})

    def one(*words: str, code: int = 0) -> str:
        done = CliRunner().invoke(app, ["stock", *words])
        assert done.exit_code == code, done.output
        return " ".join((done.stdout or done.stderr).split())

    yield one
    settings.cache_clear()


def day(days: int) -> str:
    """A day from today, as the kitchen counts it."""
    return (datetime.now(UTC).date() + timedelta(days)).isoformat()


def _said(days: int) -> str:
    on = datetime.now(UTC).date() + timedelta(days)
    return f"{on:%A} {on.day} {on:%B}"


def test_a_week_of_stock(run: Run) -> None:
    assert "Nothing is in stock" in run("list")
    assert f"use by {day(1)}" in run("add", "chicken-breast-roasted", "fridge", "3", "--made", day(-1))
    assert "best by" in run("add", "sandwich-ham", "freezer", "6", "--made", day(-1))
    listed = json.loads(run("list", "--json"))["items"]
    assert (listed[0]["portions"], listed[0]["days_left"]) == (3, 1)
    tonight = run("tonight", "--on", day(0), code=1)
    assert "Move 2 portions of ham sandwich from the freezer" in tonight
    assert "chicken breast, roasted, no skin: 3 portions" in tonight
    assert "2 portions in the fridge" in run("move", "2", "fridge", "2")
    assert "1½ portions in the fridge" in run("take", "1", "1.5")
    assert "0 portions in the fridge" in run("throw", "1")
    assert "5 portions in the freezer" in run("count", "1", "5")
    assert (
        run("tonight", "--on", day(0), code=1) == f"ham sandwich: 2 portions, use by {_said(1)}."
    )  # 24 hours once thawed
    assert "past its date" not in run("list")


@pytest.mark.parametrize(
    "words",
    [
        ("add", "unicorn", "fridge", "1"),
        ("add", "apple", "attic", "1"),
        ("add", "apple", "fridge", "1.1"),
        ("add", "apple", "fridge", "1", "--made", "2999-01-01"),
        ("take", "9"),
        ("take", "01900000-0000-7000-8000-000000000999"),
        ("take", "1", "99"),
        ("count", "1", "0.3"),
        ("tonight", "--on", "soon"),
        ("tonight", "--on", ""),
        ("add", "apple", "fridge", "1", "--made", ""),
    ],
)
def test_what_is_refused(run: Run, words: tuple[str, ...]) -> None:
    run("add", "apple", "fridge", "4")
    before = run("list", "--json")
    assert run(*words, code=2)
    assert run("list", "--json") == before


@pytest.mark.parametrize(
    "words",
    [("add", "apple", "fridge", "-1"), ("take", "1", "-0.5"), ("count", "1", "-3"), ("throw", "1", "-2", "--json")],
)
def test_a_negative_number_is_refused_as_one(run: Run, words: tuple[str, ...]) -> None:
    """Field, value and remedy; never as an option that there is not."""
    run("add", "apple", "fridge", "4")
    before = run("list", "--json")
    told = run(*words, code=2)
    assert "PORTIONS" in told
    assert next(word for word in words if word.startswith("-")) in told
    assert "is less than 0" in told
    assert "Give a number that is not negative." in told
    assert "No such option: --bogus" in run("take", "1", "--bogus", code=2)
    assert run("list", "--json") == before


@pytest.mark.parametrize("number", ["nan", "inf", "1e400"])
@pytest.mark.parametrize(
    "words",
    [
        ("take", "1"),
        ("throw", "1"),
        ("move", "1", "freezer"),
        ("count", "1"),
        ("add", "apple", "fridge"),
        ("add", "apple", "fridge", "1", "--grams"),
    ],
)
def test_what_is_no_finite_number_never_means_all_of_it(run: Run, words: tuple[str, ...], number: str) -> None:
    """Field, value and remedy, and the entry is as it was."""
    run("add", "apple", "fridge", "4")
    before = run("list", "--json")
    told = run(*words, number, code=2)
    assert told.startswith("/portion")
    assert "is not a finite number. Give a finite number." in told
    assert run("list", "--json") == before


def test_a_rule_of_keeping_names_its_source_by_its_title(run: Run) -> None:
    """The titles are those of reference_data/sources.toml."""
    told = run("add", "chicken-breast-roasted", "fridge", "1")
    assert "guidance;" in told
    assert "nhs-leftovers" not in told
    assert any(one.title in told for one in sources())
