"""Promise: a partial edit is a JSON Merge Patch. Source: RFC 7396, the table of examples in its appendix A, and section 3."""

import copy
import json

import pytest

from service.jobs.household.merge_patch import merge_patch

APPENDIX_A = """
{"a":"b"}           | {"a":"c"}                    | {"a":"c"}
{"a":"b"}           | {"b":"c"}                    | {"a":"b","b":"c"}
{"a":"b"}           | {"a":null}                   | {}
{"a":"b","b":"c"}   | {"a":null}                   | {"b":"c"}
{"a":["b"]}         | {"a":"c"}                    | {"a":"c"}
{"a":"c"}           | {"a":["b"]}                  | {"a":["b"]}
{"a":{"b":"c"}}     | {"a":{"b":"d","c":null}}     | {"a":{"b":"d"}}
{"a":[{"b":"c"}]}   | {"a":[1]}                    | {"a":[1]}
["a","b"]           | ["c","d"]                    | ["c","d"]
{"a":"b"}           | ["c"]                        | ["c"]
{"a":"foo"}         | null                         | null
{"a":"foo"}         | "bar"                        | "bar"
{"e":null}          | {"a":1}                      | {"e":null,"a":1}
[1,2]               | {"a":"b","c":null}           | {"a":"b"}
{}                  | {"a":{"bb":{"ccc":null}}}    | {"a":{"bb":{}}}
"""
"""ORIGINAL | PATCH | RESULT, as printed."""

ROWS = [tuple(json.loads(cell) for cell in row.split("|")) for row in APPENDIX_A.strip().splitlines()]


@pytest.mark.parametrize(("original", "patch", "result"), ROWS)
def test_the_table_of_the_rfc(original: object, patch: object, result: object) -> None:
    """Every row; nothing that is handed in is changed."""
    before = copy.deepcopy((original, patch))
    assert merge_patch(original, patch) == result
    assert (original, patch) == before


def test_the_example_of_section_3() -> None:
    """The document with a title, an author and tags."""
    original = {
        "title": "Goodbye!",
        "author": {"givenName": "John", "familyName": "Doe"},
        "tags": ["example", "sample"],
        "content": "This will be unchanged",
    }
    patch = {"title": "Hello!", "phoneNumber": "+01-123-456-7890", "author": {"familyName": None}, "tags": ["example"]}
    assert merge_patch(original, patch) == {
        "title": "Hello!",
        "author": {"givenName": "John"},
        "tags": ["example"],
        "content": "This will be unchanged",
        "phoneNumber": "+01-123-456-7890",
    }
