"""Promise: the OpenAPI document is valid, stays what it was, and its examples fit its own schemas."""

import re
from collections.abc import Iterator
from typing import Any

import jsonschema_rs
import pytest
import schemathesis
from starlette.testclient import TestClient

from service.api.docs.examples import good_status
from service.api.problems import PROBLEMS
from service.jobs.request_faults import PATTERNS
from tests.api.clients import BODY, PROBLEM
from tests.contract.example_files import example_client, example_files
from tests.contract.write_openapi import CONTRACT, contract

Document = dict[str, Any]


@pytest.fixture(scope="module")
def service() -> TestClient:
    """A client of its own."""
    return example_client()


@pytest.fixture(scope="module")
def document(service: TestClient) -> Document:
    """The document as served."""
    answer = service.get("/openapi.json")
    assert answer.headers["content-type"] == BODY
    read: Document = answer.json()
    return read


def operations(document: Document) -> Iterator[Document]:
    """All operations."""
    for methods in document["paths"].values():
        yield from methods.values()


def test_the_contract_is_kept() -> None:
    """Changed on purpose? ``python -m tests.contract.write_openapi``, and a line in CHANGELOG."""
    assert contract().decode() == CONTRACT.read_text("utf-8")


def test_the_document_is_valid_openapi(document: Document) -> None:
    """Against the OpenAPI Initiative's schema for 3.1, as Schemathesis carries it."""
    assert document["openapi"] == "3.1.0"
    schemathesis.openapi.from_dict(document).validate()


def test_the_document_is_not_valid_once_it_is_spoilt(document: Document) -> None:
    """The check above can fail."""
    with pytest.raises(jsonschema_rs.ValidationError):
        schemathesis.openapi.from_dict({**document, "info": {"title": "without a version"}}).validate()


def resolved(document: Document, part: Document) -> Document:
    """A part, or what it refers to."""
    if "$ref" not in part:
        return part
    found: Document = document
    for name in part["$ref"].removeprefix("#/").split("/"):
        found = found[name]
    return found


def schemas_and_examples(document: Document) -> Iterator[tuple[str, Document, Any]]:
    """Every example with the schema it stands next to it."""
    for operation in operations(document):
        name = operation["operationId"]
        places = [(parameter, parameter["schema"]) for parameter in operation.get("parameters", [])]
        media = list(operation.get("requestBody", {}).get("content", {}).values())
        replies = [resolved(document, reply) for reply in operation["responses"].values()]
        media += [one for reply in replies for one in reply.get("content", {}).values()]
        places += [(one, one["schema"]) for one in media]
        for place, schema in places:
            for case, example in place.get("examples", {}).items():
                yield f"{name}/{case}", schema, example["value"]


def test_every_schema_has_a_name_of_its_own(document: Document) -> None:
    """Two models of one name would show the modules they are in, and makers of clients refuse them."""
    schemas = document["components"]["schemas"]
    titles = [schema["title"] for schema in schemas.values() if "title" in schema and schema.get("type") == "object"]
    assert sorted({title for title in titles if titles.count(title) > 1}) == []
    assert [name for name in schemas if "__" in name] == []


def test_every_example_fits_the_schema_beside_it(document: Document) -> None:
    """JSON Schema 2020-12, formats too; requests that are shown as examples are requests that are understood."""
    seen = 0
    for case, schema, value in schemas_and_examples(document):
        whole = {**schema, "components": document["components"]}
        validator = jsonschema_rs.Draft202012Validator(whole, validate_formats=True)
        faults = [f"{fault.instance_path}: {fault.message}" for fault in validator.iter_errors(value)]
        assert faults == [], case
        seen += 1
    assert seen > len(list(operations(document)))


def test_every_example_file_is_in_the_document(document: Document) -> None:
    """Each fault under its status; of the good cases the first, the others lie in openapi_examples."""
    shown: dict[str, set[str]] = {}
    for case, _schema, _value in schemas_and_examples(document):
        shown.setdefault(case, set()).add(case)
    assert {name for name in shown if "/error-" in name} == {
        one.id() for one in example_files() if one.case.startswith("error-")
    }
    first: dict[str, str] = {}
    for one in example_files():
        if not one.case.startswith("error-") and one.reply().get("body", one) is not None:
            first.setdefault(one.operation, one.id())
    assert set(first.values()) <= set(shown)


def test_every_operation_has_words_for_it(document: Document) -> None:
    """A summary, a description, a tag, an example of the answer (unless it is empty), and a schema of its own."""
    for operation in operations(document):
        assert operation["summary"]
        assert operation["description"]
        assert operation["tags"]
        good = operation["responses"][good_status(operation)]
        if good_status(operation) == "204":
            assert "content" not in good
            continue
        reply = good["content"][BODY]
        assert reply["examples"], operation["operationId"]
        assert reply["schema"]["$ref"].startswith("#/components/schemas/")


def test_every_error_is_documented_as_a_problem(document: Document) -> None:
    """Media type and schema of each 4xx and 5xx are those of a problem, and every status is one that exists."""
    for operation in operations(document):
        for status, one in operation["responses"].items():
            reply = resolved(document, one)
            if int(status) >= 400:
                assert list(reply["content"]) == [PROBLEM]
                assert reply["content"][PROBLEM]["schema"] == {"$ref": "#/components/schemas/Problem"}
                assert int(status) in PROBLEMS.values()


def schemas_within(document: Document, part: Any, found: set[str]) -> set[str]:
    """Names of all schemas that a part refers to, directly or through others."""
    for name in set(re.findall(r"#/components/schemas/([^']+)'", str(part))) - found:
        found.add(name)
        schemas_within(document, document["components"]["schemas"][name], found)
    return found


def test_bodies_refuse_unknown_fields_and_replies_leave_room_for_more(document: Document) -> None:
    """``additionalProperties: false`` for what is sent; a reply may get more fields within /v1.

    FHIR resources are open: HL7 defines many more elements than are read here.
    """
    sent: set[str] = set()
    answered: set[str] = set()
    for operation in operations(document):
        schemas_within(document, operation.get("requestBody", {}), sent)
        schemas_within(document, operation["responses"], answered)
    schemas = document["components"]["schemas"]
    assert sent
    fhir = {name for name in sent if name.startswith("Fhir")} | {"AllergyIntolerance", "Bundle", "OtherResource"}
    bodies = {name: schemas[name] for name in sent - fhir}
    assert [name for name, one in bodies.items() if one["type"] == "object" and one["additionalProperties"]] == []
    assert [name for name in answered if schemas[name].get("additionalProperties") is False] == []


def patterns_in(part: Any) -> Iterator[str]:
    """All patterns of texts in a part of the document."""
    if isinstance(part, dict):
        if isinstance(part.get("pattern"), str):
            yield part["pattern"]
        for inside in part.values():
            yield from patterns_in(inside)
    elif isinstance(part, list):
        for inside in part:
            yield from patterns_in(inside)


def test_what_does_not_fit_a_pattern_is_answered_in_words(document: Document) -> None:
    """Every pattern of a body or a query has words of its own; the month of birth has them from its own reader."""
    asked: list[Any] = [document["components"]["schemas"]]
    asked += [
        one for operation in operations(document) for one in operation.get("parameters", []) if one["in"] != "header"
    ]
    month_of_birth = document["components"]["schemas"]["KeptChild"]["properties"]["birth_month"]
    assert set(patterns_in(asked)) - set(patterns_in(month_of_birth)) <= set(PATTERNS)


def test_every_schema_is_used(document: Document) -> None:
    """Nothing is left of the framework's own error bodies."""
    text = str(document)
    unused = [name for name in document["components"]["schemas"] if f"#/components/schemas/{name}'" not in text]
    assert unused == []
