"""Commands as somebody types them while a server runs: in the process of the tests, which is another than the server's."""

import json
from typing import Any

import pytest
from typer.testing import CliRunner

from service.cli.main import app
from service.settings import settings


def command(url: str, *words: str) -> Any:
    """What a command prints as JSON, with the store of an address; it must succeed."""
    with pytest.MonkeyPatch.context() as environment:
        environment.setenv("PACKED_LUNCH_DATABASE_URL", url)
        settings.cache_clear()
        done = CliRunner().invoke(app, [*words, "--json"])
    settings.cache_clear()
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)
