"""Promise: every endpoint of the published document has its row in the README, and the README names no other."""

import json
import re

import pytest

from tests.served import ROOT

README = (ROOT / "README.md").read_text("utf-8")
DOCUMENT = json.loads((ROOT / "tests/contract/openapi.json").read_bytes())
METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")
SERVED = {
    (method.upper(), re.sub(r"{[^}]*}", "{}", path))
    for path, operations in DOCUMENT["paths"].items()
    for method in operations
    if method.upper() in METHODS and path.startswith("/v1")
}


def described() -> set[tuple[str, str]]:
    """Method and path of every row; a row that names ``/{id}`` by itself is about one of each collection as well."""
    found = set()
    for cell in re.findall(r"^\| (`.*?) \|", README, re.MULTILINE):
        for part in re.split(r"; (?!with)", cell):
            own, _, of_one = part.partition("; with `/{id}`")
            paths = [re.sub(r"{[^}]*}", "{}", path) for path in re.findall(r"(/v1/[^`?\s,)]*)", own)]
            found |= {(method, path) for path in paths for method in re.findall(r"\b[A-Z]{3,6}\b", own)}
            found |= {(method, f"{path}/{{}}") for path in paths for method in re.findall(r"\b[A-Z]{3,6}\b", of_one)}
    return found


@pytest.mark.parametrize("operation", sorted(SERVED), ids=" ".join)
def test_the_endpoint_has_its_row(operation: tuple[str, str]) -> None:
    """An endpoint that is added needs its line."""
    assert operation in described()


def test_no_row_names_an_endpoint_that_is_gone() -> None:
    """A row goes with its endpoint."""
    assert described() - SERVED == set()
