"""The key goes to the source in its header, and nowhere else: not into the file of answers, not into a log, not into an address."""

import logging
from pathlib import Path

import pytest
import requests
import responses

from service.lookup.live.session import without_key
from service.lookup.live.source import LiveSource
from tests.lookup.live.stub import CODE, KEY, Answer, Stub, entry, hit

BASE = "https://food-data.example/fdc"


@pytest.mark.parametrize(
    "bad", [None, Answer({}, 403), Answer({}, 500), Answer({"foods": []}, cut=True), Answer(b"<html>")]
)
def test_no_byte_of_the_cache_and_no_line_of_the_log_has_it(
    stub: Stub, source: LiveSource, cache: Path, caplog: pytest.LogCaptureFixture, bad: Answer | None
) -> None:
    with caplog.at_level(logging.DEBUG):
        stub.answers(hit(7), headers={"Vary": "X-Api-Key", "ETag": '"1"'})
        answers = [source.by_code(CODE), source.by_words("oat bars")]
        if bad is not None:
            stub.always(bad)
        answers += [source.by_code(CODE), source.by_words("other")]

    assert KEY in stub.keys
    assert caplog.records
    said = "\n".join(
        [*(f"{one.getMessage()} {one.exc_text} {one.args}" for one in caplog.records), *map(repr, answers)]
    )
    assert KEY not in said + repr(source)
    files = [one for one in cache.parent.rglob("*") if one.is_file()]
    assert files
    for one in files:
        assert KEY.encode() not in one.read_bytes()


@pytest.mark.parametrize(
    "name", ["X-Api-Key", "x-api-key", "X-API-KEY", "X-API-Key", "X_API_KEY", "api_key", "API_KEY", "Api-Key"]
)
def test_every_spelling_is_left_out(name: str) -> None:
    assert name in without_key()


def test_what_the_library_leaves_out_by_itself_is_left_out_too() -> None:
    from requests_cache.policy.settings import DEFAULT_IGNORED_PARAMS

    assert set(DEFAULT_IGNORED_PARAMS) <= set(without_key())


@responses.activate
def test_it_is_sent_in_its_header_and_stands_in_no_address(cache: Path) -> None:
    found = responses.get(f"{BASE}/v1/foods/search", json={"foods": [hit(7)]})
    shown = responses.get(f"{BASE}/v1/food/7", json=entry(7))

    answer = LiveSource(KEY, BASE, cache).by_code(CODE)

    assert [one.fdc_id for one in answer.foods] == [7]
    assert found.call_count == shown.call_count == 1
    for call in responses.calls:
        assert call.request.headers["X-Api-Key"] == KEY
        assert KEY not in str(call.request.url)


@responses.activate
def test_it_does_not_follow_a_redirection(cache: Path) -> None:
    responses.get(f"{BASE}/v1/foods/search", status=302, headers={"Location": "https://elsewhere.example/sign-in"})

    answer = LiveSource(KEY, BASE, cache).by_code(CODE)

    assert answer.problem is not None
    assert answer.problem.code == "live.not-understood"
    assert [call.request.url.split("/")[2] for call in responses.calls if call.request.url] == ["food-data.example"]


@responses.activate
def test_faults_of_the_connection_end_after_the_third_try(cache: Path) -> None:
    broken = responses.get(f"{BASE}/v1/foods/search", body=requests.ConnectionError("reset"))

    answer = LiveSource(KEY, BASE, cache).by_code(CODE)

    assert answer.problem is not None
    assert (answer.problem.code, broken.call_count) == ("live.not-reached", 3)
