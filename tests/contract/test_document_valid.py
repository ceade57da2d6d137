"""Promise: the published document is OpenAPI 3.1, by the specification's own schema (openapi-spec-validator)."""

import copy
import json
from pathlib import Path
from typing import Any

import pytest

DOCUMENT: dict[str, Any] = json.loads(Path(__file__).with_name("openapi.json").read_bytes())


@pytest.fixture(scope="module")
def validator() -> Any:
    """Imported by the tests, not while they are collected: it makes grammars for seconds, which every worker would do."""
    return pytest.importorskip("openapi_spec_validator", reason="the extra dev is not installed")


def test_the_document_is_valid(validator: Any) -> None:
    """Every path, parameter, schema and response."""
    assert DOCUMENT["openapi"].startswith("3.1.")
    validator.validate(DOCUMENT, cls=validator.OpenAPIV31SpecValidator)


def test_a_document_that_is_not_valid_is_seen(validator: Any) -> None:
    """The check itself: one operation without its responses' description."""
    broken = copy.deepcopy(DOCUMENT)
    del broken["paths"]["/v1/lunch-checks"]["post"]["responses"]["200"]["description"]
    with pytest.raises(Exception, match="description"):
        validator.validate(broken, cls=validator.OpenAPIV31SpecValidator)
