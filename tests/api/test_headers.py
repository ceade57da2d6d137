"""Promise: only reference data is stored, and by nobody between, none is taken for another type; pages load nothing from elsewhere."""

import pytest
from starlette.testclient import TestClient

from tests.api.clients import LUNCH, client

ANSWERS = [
    ("GET", "/v1/health"), ("GET", "/v1/foods?q=apple"), ("GET", "/v1/foods/aple"), ("GET", "/nowhere"),
    ("POST", "/v1/lunch-checks"), ("POST", "/v1/foods"), ("GET", "/openapi.json"), ("GET", "/docs"),
    ("GET", "/docs/assets/swagger-ui.css"), ("HEAD", "/v1/foods/apple"),
]  # fmt: skip
REFERENCE = {
    "/v1/foods?q=apple", "/v1/foods/apple", "/v1/standards", "/v1/allergens", "/v1/choking-rules", "/openapi.json",
    "/docs/assets/swagger-ui.css",
}  # fmt: skip
"""Replies that are the same until another version of the service runs, asked without a household's key."""


@pytest.mark.parametrize("path", sorted(REFERENCE))
def test_reference_data_is_fresh_for_an_hour_and_then_asked_for_by_its_tag(service: TestClient, path: str) -> None:
    """RFC 9110 section 13.1.2; and it is compressed for who takes that."""
    answer = service.get(path)
    tag = answer.headers["etag"]
    assert answer.headers["content-encoding"] == "gzip" or len(answer.content) < 1_000
    again = service.get(path, headers={"If-None-Match": tag})
    assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", tag)
    assert service.get(path, headers={"If-None-Match": '"another"'}).status_code == 200


@pytest.mark.parametrize(("accepted", "coding"), [
    ("gzip", "gzip"), ("br, gzip;q=0.5", "gzip"), ("gzip;q=0", None), ("identity, gzip; q=0.0", None), ("identity", None),
])  # fmt: skip
def test_who_refuses_gzip_is_answered_without(service: TestClient, accepted: str, coding: str | None) -> None:
    """RFC 9110 section 12.5.3: a weight of 0 is not acceptable."""
    answer = service.get("/v1/standards", headers={"Accept-Encoding": accepted})
    assert answer.headers.get("content-encoding") == coding
    assert answer.headers["vary"].endswith("Accept-Encoding")
    assert answer.json()["items"]


@pytest.mark.parametrize(("method", "path"), ANSWERS)
def test_every_reply_says_how_to_treat_it(service: TestClient, method: str, path: str) -> None:
    """Each header once (RFC 9111 no-store; the Fetch standard's nosniff)."""
    answer = service.request(method, path)
    fresh = "private, max-age=3600" if (path in REFERENCE and answer.status_code == 200) else "no-store"
    for name, value in (("x-content-type-options", "nosniff"), ("cache-control", fresh)):
        assert answer.headers.get_list(name) == [value], path
    assert "server" not in answer.headers
    assert "x-powered-by" not in answer.headers


def test_a_refusal_says_so_too() -> None:
    """401 comes from the gate itself."""
    refused = client(access_key="kitchen-door-0123456789").post("/v1/lunch-checks", json=LUNCH)
    assert refused.status_code == 401
    assert refused.headers["cache-control"] == "no-store"
    assert refused.headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize("path", ["/docs", "/docs/assets/swagger-ui-bundle.js"])
def test_a_page_may_load_only_from_here(service: TestClient, path: str) -> None:
    """Content security policy: nothing by default, scripts only as files of this host, no framing."""
    answer = service.get(path)
    (policy,) = answer.headers.get_list("content-security-policy")
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["default-src"] == "'none'"
    assert rules["script-src"] == "'self'"
    assert rules["connect-src"] == "'self'"
    assert rules["frame-ancestors"] == "'none'"
    assert rules["base-uri"] == "'none'"
    assert "*" not in policy
    assert "http" not in policy
    assert "unsafe-eval" not in policy
    assert answer.headers["referrer-policy"] == "no-referrer"


def test_over_tls_every_reply_asks_for_tls_from_then_on(service: TestClient) -> None:
    """For a year (RFC 6797 section 7.2: over TLS alone), refusals too."""
    assert "strict-transport-security" not in service.get("/v1/health").headers
    for path in ("/v1/health", "/v1/foods/aple", "/nowhere", "/docs"):
        told = service.get(f"https://localhost{path}").headers.get_list("strict-transport-security")
        assert told == ["max-age=31536000"], path
