"""Promise: every error is one problem document with the place, the value and the remedy; here: of addresses.

Methods, paths and parameters. The shape itself is written down in problems_seen.py.
"""

import pytest
from starlette.testclient import TestClient

from tests.api.clients import BODY
from tests.api.problems_seen import CHECK, SCREEN, problem_of


@pytest.mark.parametrize(("method", "path", "allowed"), [
    ("GET", CHECK, "POST"),
    ("HEAD", CHECK, "POST"),
    ("PUT", CHECK, "POST"),
    ("DELETE", SCREEN, "POST"),
    ("PUT", "/v1/foods", "GET, HEAD, POST"),
    ("POST", "/v1/foods/apple", "DELETE, GET, HEAD, PATCH, PUT"),
    ("POST", "/v1/standards", "GET, HEAD"),
    ("OPTIONS", "/v1/allergens", "GET, HEAD"),
    ("POST", "/v1/health", "GET, HEAD"),
    ("POST", "/docs", "GET, HEAD"),
    ("POST", "/openapi.json", "GET, HEAD"),
])  # fmt: skip
def test_another_method_is_405_and_says_which_are_allowed(
    service: TestClient, method: str, path: str, allowed: str
) -> None:
    """RFC 9110 section 15.5.6: a 405 carries Allow."""
    answer = service.request(method, path)
    assert answer.status_code == 405
    assert answer.headers["allow"] == allowed
    if method != "HEAD":
        problem_of(answer, 405, "method-not-allowed", path)


def test_head_is_get_without_the_body(service: TestClient) -> None:
    """RFC 9110 section 9.3.2."""
    answer = service.head("/v1/foods/apple")
    assert (answer.status_code, answer.content) == (200, b"")
    assert answer.headers["content-type"] == BODY
    assert service.head("/v1/foods/aple").status_code == 404


@pytest.mark.parametrize("path", [
    "/", "/v1", "/v2/foods", "/v1/foods/", "/v1/foods/apple/portions", "/v1/lunch-checks/", "/admin", "/docs/",
    "/docs/assets/", "/docs/assets/nothing.js", "/docs/assets/..%2F..%2Faccess.html", "/redoc",
])  # fmt: skip
def test_an_address_that_is_none_is_404(service: TestClient, path: str) -> None:
    """No redirect, no page, no file."""
    problem_of(service.get(path), 404, "not-found")


@pytest.mark.parametrize(("path", "parameter", "near"), [
    ("/v1/foods/brocoli-raw", "food_id", "broccoli-raw"),
    ("/v1/foods/%00", "food_id", "/v1/foods?q="),
    ("/v1/foods/%F0%9F%8D%8E", "food_id", "/v1/foods?q="),
    ("/v1/foods/" + "x" * 5_000, "food_id", "/v1/foods?q="),
    ("/v1/standards/us-school-lunches?on=2026-12-01", "standard_id", "us-school-lunch"),
])  # fmt: skip
def test_a_thing_that_is_not_known_is_404(service: TestClient, path: str, parameter: str, near: str) -> None:
    """With near names; the parameter of the path is named as the documentation names it."""
    told = problem_of(service.get(path), 404, "unknown-resource")
    (error,) = told["errors"]
    assert error["pointer"] == parameter
    assert near in error["remedy"]


WRONG_PARAMETERS: dict[str, tuple[str, str, str]] = {
    "search by another name": ("/v1/foods?query=bread", "query", "invalid-request"),
    "limit zero": ("/v1/foods?limit=0", "limit", "invalid-request"),
    "limit negative": ("/v1/foods?limit=-5", "limit", "invalid-request"),
    "limit as a word": ("/v1/foods?limit=all", "limit", "invalid-request"),
    "limit in parts": ("/v1/foods?limit=1.5", "limit", "invalid-request"),
    "words without end": ("/v1/foods?q=" + "x" * 101, "q", "invalid-request"),
    "cursor made up": ("/v1/foods?cursor=42", "cursor", "bad-input"),
    "cursor empty": ("/v1/foods?cursor=", "cursor", "bad-input"),
    "cursor no ASCII": ("/v1/foods?cursor=%FF%FE", "cursor", "bad-input"),
    "cursor of another search": ("/v1/foods?q=pear&cursor=MjA6MDAwMDAwMDA", "cursor", "bad-input"),
    "day missing": ("/v1/standards/us-school-lunch", "on", "invalid-request"),
    "day no day": ("/v1/standards/us-school-lunch?on=2026-02-30", "on", "invalid-request"),
    "day as seconds": ("/v1/standards/us-school-lunch?on=1796083200", "on", "invalid-request"),
    "day before the rules": ("/v1/standards/us-school-lunch?on=1999-01-01", "on", "outside-dates"),
    "parameter of another address": ("/v1/foods/apple?on=2026-12-01", "on", "invalid-request"),
    "parameter where there is none": ("/v1/standards?jurisdiction=US", "jurisdiction", "invalid-request"),
    "choking rules of a region": ("/v1/choking-rules?region=US", "region", "invalid-request"),
    "jurisdiction without a day": ("/v1/allergens?jurisdiction=US", "on", "bad-input"),
    "jurisdiction not known": ("/v1/allergens?jurisdiction=XX&on=2026-12-01", "jurisdiction", "unknown-name"),
    "day before the law": ("/v1/allergens?jurisdiction=US&on=1900-01-01", "on", "outside-dates"),
}


@pytest.mark.parametrize(("path", "parameter", "slug"), WRONG_PARAMETERS.values(), ids=WRONG_PARAMETERS)
def test_a_parameter_that_does_not_fit_is_422(service: TestClient, path: str, parameter: str, slug: str) -> None:
    """The parameter is named; one that nobody reads is refused and not passed over."""
    told = problem_of(service.get(path), 422, slug, path.partition("?")[0])
    assert [error["pointer"] for error in told["errors"]] == [parameter]
