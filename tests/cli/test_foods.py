"""Promise: ``packed-lunch foods`` lists what matches; one food is shown when its id is asked for."""

from typer.testing import CliRunner

from service.cli.main import app


def printed(*arguments: str) -> list[str]:
    """The lines of a look-up."""
    done = CliRunner().invoke(app, ["foods", *arguments])
    assert done.exit_code == 0, done.output
    return done.stdout.splitlines()


def test_a_word_that_is_an_id_too_lists_all_that_match() -> None:
    """``hummus`` is a food and part of the names of others."""
    lines = printed("hummus")
    assert lines[0].split() == ["id", "name", "kind", "usual", "portion"]
    assert len([line for line in lines if "hummus" in line]) > 1


def test_an_id_shows_its_food() -> None:
    """With ``--id`` for an id that is a word; an id that cannot be a word does without."""
    assert printed("--id", "hummus")[0].endswith("(hummus)")
    assert printed("sandwich-ham")[0].endswith("(sandwich-ham)")
