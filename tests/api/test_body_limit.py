"""Promise: a body of just as many bytes as the settings allow is read; one byte more is refused, announced or not."""

import asyncio
import json
from collections.abc import Iterator

import pytest

from service.api.app import create_app
from tests.api.clients import LUNCH, client, settings_of
from tests.api.problems_seen import problem_of
from tests.fuzz.asking import Asked, ask

CHECK = "/v1/lunch-checks"
LIMIT = 2_000
JSON = {"Content-Type": "application/json"}


def body_of(size: int) -> bytes:
    """A lunch check of so many bytes."""
    return json.dumps(LUNCH).encode().ljust(size)


def in_chunks(body: bytes) -> Iterator[bytes]:
    """Sent bit by bit, so that no length is announced."""
    for start in range(0, len(body), 100):
        yield body[start : start + 100]


@pytest.mark.parametrize("announced", [True, False])
def test_the_limit_itself_is_let_in(announced: bool) -> None:
    """The setting is the largest request."""
    small = client(max_body_bytes=LIMIT)
    for size, allowed in ((LIMIT, True), (LIMIT + 1, False)):
        body = body_of(size)
        assert len(body) == size
        answer = small.post(CHECK, content=body if announced else in_chunks(body), headers=JSON)
        if allowed:
            assert answer.status_code == 200, answer.text
        else:
            problem_of(answer, 413, "body-too-large", CHECK)


def test_a_length_that_is_no_number_is_not_believed() -> None:
    """A digit that counts nothing, as "\u00b2" is; a server in front would refuse it, and this one must not break on it."""
    headers = ((b"host", b"localhost"), (b"content-type", b"application/json"), (b"content-length", b"\xb2"))
    asked = Asked("POST", CHECK, headers, json.dumps(LUNCH).encode(), CHECK, True)
    assert asyncio.run(ask(create_app(settings_of()), asked)).status == 200
