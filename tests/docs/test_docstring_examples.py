"""Promise: every worked example in a docstring gives what it says."""

import doctest
import importlib
from pathlib import Path

import pytest

from tests.served import ROOT

EXAMPLE = ">>> "
MODULES = sorted(
    ".".join(path.relative_to(ROOT).with_suffix("").parts)
    for layer in ("domain", "jobs", "reference", "web")
    for path in (ROOT / "service" / layer).rglob("*.py")
    if EXAMPLE in path.read_text("utf-8")
)


@pytest.mark.parametrize("module", MODULES)
def test_the_examples_hold(module: str) -> None:
    """As typed, in a fresh interpreter's names."""
    found = doctest.testmod(importlib.import_module(module))
    assert found.attempted > 0
    assert found.failed == 0


def test_there_are_examples() -> None:
    """A docstring that loses its last example is seen."""
    examples = sum(
        Path(ROOT, *name.split(".")).with_suffix(".py").read_text("utf-8").count(EXAMPLE) for name in MODULES
    )
    assert examples >= 120
