"""Reads the case files next to the tests: printed examples as data, exact decimals, nothing unsaid.

A case file is TOML: ``source`` (title and place), then ``[[case]]`` tables. Every case has an ``id``,
and ``printed`` or ``computed`` says of its expected values whether the source prints them (P) or gives
the inputs and the method only (C). A case without one of the two is refused.
"""

import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent


def case_file(name: str) -> dict[str, Any]:
    """The whole file."""
    content = tomllib.loads((HERE / name).read_text(encoding="utf-8"), parse_float=Decimal)
    assert content["source"], f"{name} names no source"
    for case in content.get("case", []):
        assert case["who"] in ("printed", "computed"), f"{name}: {case['id']} does not say who worked it out"
    return content


def cases(name: str, kind: str | None = None) -> list[dict[str, Any]]:
    """The cases of a file, those of one kind where a kind is given."""
    found = [case for case in case_file(name)["case"] if kind is None or case["kind"] == kind]
    assert found, f"{name} has no case of kind {kind}"
    return found


def ids(found: list[dict[str, Any]]) -> list[str]:
    """What pytest calls each case."""
    return [str(case["id"]) for case in found]
