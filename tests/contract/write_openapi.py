"""Writes the contract anew: ``python -m tests.contract.write_openapi``.

The contract is the OpenAPI document without its examples (these are held by tests/api/test_examples.py). Within /v1
fields and values may be added; whatever is taken away, renamed or made stricter breaks somebody's front end. So the
difference is read, and said in CHANGELOG, before it is kept.
"""

from pathlib import Path
from typing import Any

import orjson

from tests.api.clients import client

CONTRACT = Path(__file__).with_name("openapi.json")


def contract() -> bytes:
    """The document as it is now, in a form that is easy to compare."""
    document = without_examples(client().get("/openapi.json").json())
    return orjson.dumps(document, option=orjson.OPT_INDENT_2 | orjson.OPT_SORT_KEYS | orjson.OPT_APPEND_NEWLINE)


def without_examples(part: Any, *, fields: bool = False) -> Any:
    """A part of the document without the examples of media types and parameters; ``fields``: its names are a body's."""
    if isinstance(part, dict):
        kept = {name: inner for name, inner in part.items() if fields or name != "examples"}
        return {name: without_examples(inner, fields=name == "properties") for name, inner in kept.items()}
    if isinstance(part, list):
        return [without_examples(inner) for inner in part]
    return part


if __name__ == "__main__":
    CONTRACT.write_bytes(contract())
    print(f"wrote {CONTRACT.name}")
