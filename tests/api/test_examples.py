"""Promise: every example shown in the documentation is what the service answers, but for the words of sentences.

What is promised of a sentence is its code and values; the words are the catalogue's, and one changed word is not a changed
reply. A reply that changes on purpose is written anew with ``python -m tests.contract.write_examples``.
"""

import json
from typing import Any

import pytest
from pydantic import TypeAdapter
from starlette.testclient import TestClient

from service.api import replies
from service.api.docs.openapi import routes
from tests.contract.example_files import (
    FOLDER,
    Example,
    Operation,
    as_written,
    asked,
    example_client,
    example_files,
    operations,
)

REPLY_MODELS = {route.operation_id: route.response_model for route in routes()}
EXAMPLES = example_files()
FAULTS = [one for one in EXAMPLES if one.case.startswith("error-")]


@pytest.fixture(scope="module")
def service() -> TestClient:
    """The application that examples are asked of."""
    return example_client()


@pytest.fixture(scope="module")
def known(service: TestClient) -> dict[str, Operation]:
    """Operation id -> method and path."""
    return operations(service.get("/openapi.json").json())


@pytest.mark.parametrize("example", EXAMPLES, ids=Example.id)
def test_the_example_is_what_is_answered(service: TestClient, known: dict[str, Operation], example: Example) -> None:
    """Asked now, the request of an example gets the reply of the example, keys in the same order."""
    told = as_written(*asked(service, known, example))
    assert json.dumps(without_words(told)) == json.dumps(without_words(example.reply()))


def without_words(reply: Any) -> Any:
    """A reply with the texts of the catalogue left out where their codes and values are next to them."""
    if isinstance(reply, list):
        return [without_words(one) for one in reply]
    if not isinstance(reply, dict):
        return reply
    worded = {name.removesuffix("_message") for name in reply if name.endswith("_message")}
    worded |= {name.removesuffix("_messages") + "s" for name in reply if name.endswith("_messages")}
    if "code" in reply and "params" in reply:
        worded |= {"sentence", "detail", "remedy"}
    if "errors" in reply:
        worded.add("detail")
    return {name: type(one).__name__ if name in worded else without_words(one) for name, one in reply.items()}


@pytest.mark.parametrize("example", EXAMPLES, ids=Example.id)
def test_the_reply_has_the_published_shape(example: Example) -> None:
    """Every key of a reply is published, none is missing, none has another type."""
    reply = example.reply()
    if example.case.startswith("error-"):
        assert set(reply) == {"status", "body"}
        replies.Problem.model_validate(reply["body"], strict=True)
        return
    if "Accept" in example.request.get("headers", {}):
        # Forms for other programs, held against readers of theirs in tests/api/household.
        assert reply.get("resourceType") == "Bundle" or reply.get("@type") == "Recipe"
        return
    model = REPLY_MODELS[example.operation]
    if model is None or set(reply) == {"status", "body"}:
        assert reply["status"] in (204, 304)
        assert reply["body"] is None
    else:
        TypeAdapter(model).validate_python(reply)


def test_every_operation_has_an_example(known: dict[str, Operation]) -> None:
    """No operation is shown without an example, no example is of an operation that is gone."""
    assert {one.operation for one in EXAMPLES} == set(known) == set(REPLY_MODELS)


def test_no_reply_is_left_without_its_request() -> None:
    """Each reply file has a request file next to it."""
    requests = {
        path.with_name(path.name.replace(".request.", ".response.")) for path in FOLDER.glob("*/*.request.json")
    }
    assert set(FOLDER.glob("*/*.response.json")) == requests


@pytest.mark.parametrize("example", FAULTS, ids=Example.id)
def test_each_pointer_leads_to_the_value(example: Example) -> None:
    """A pointer of an error, followed as RFC 6901 says, leads into the request (a missing field: to its parent)."""
    for error in example.reply()["body"]["errors"]:
        if not error["pointer"].startswith("#"):
            sent = [name for part in ("path", "query", "headers") for name in example.request.get(part, {})]
            assert error["pointer"] in [*sent, "on"]
            continue
        place: Any = example.request.get("body", example.request)
        for part in error["pointer"].removeprefix("#").split("/")[1:]:
            name = part.replace("~1", "/").replace("~0", "~")
            if error["value"] == "nothing" and isinstance(place, dict) and name not in place:
                break
            place = place[int(name)] if isinstance(place, list) else place.get(name)
            if place is None:  # a value that was left out, such as a quantity, can still be the one at fault
                break
