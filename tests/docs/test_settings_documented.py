"""Promise: every setting is told in the README by its name in the environment."""

import re
from pathlib import Path

import pytest

from service.settings import Settings

README = Path(__file__).resolve().parents[2] / "README.md"


@pytest.mark.parametrize("name", Settings.model_fields)
def test_the_setting_is_in_the_readme(name: str) -> None:
    """A setting that is added needs its line."""
    assert f"PACKED_LUNCH_{name.upper()}" in README.read_text("utf-8")


def test_the_readme_tells_no_setting_that_is_gone() -> None:
    """A setting that is removed takes its line with it."""
    told = set(re.findall(r"PACKED_LUNCH_([A-Z_]+[A-Z])", README.read_text("utf-8")))
    assert told == {name.upper() for name in Settings.model_fields}
