"""Promise: a key that is sent is one that is known, or the answer is 401: at every address of the whole application.

The application's own table of routes is walked, so that a new route is walked too; so are addresses that are none, and
those that need no key. RFC 6750 section 3.1; RFC 9110 sections 11.6 and 15.5.2.
"""

import re
from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

from service.store.access.households import create_household, create_key, revoke_key
from service.store.database import Store
from service.web.app import create_app
from tests.api.clients import settings_of

SERVICE_KEY = "kitchen-door-0123456789"
METRICS_KEY = "metrics-door-0123456789"
PARAMETER = re.compile(r"\{[^}]*\}")
NO_ADDRESSES = [
    "/",
    "/nowhere",
    "/v1/nowhere",
    "/v1/health/",
    "/static/nowhere.css",
    "/calendar/x.ics",
    "/sign-in/x",
    "//",
    "/v1/",
]
JUNK = [
    b"Bearer", b"Bearer ", b"bearer x", b"Bearer " + b"x" * 42, b"Bearer " + b"x" * 43, b"Bearer " + b"x" * 44, b"Bearer caf\xc3\xa9",
    b"Bearer \xff", b"Bearer a b", b"Bearer " + SERVICE_KEY.encode()[:-1], b"Bearer " + SERVICE_KEY.encode() + b"x",
    b"BEARER " + SERVICE_KEY.upper().encode(), b"Bearer x, Bearer y", b"Bearer " + b"x" * 8000,
]  # fmt: skip


@pytest.fixture
def service(store_url: str, store: Store) -> Iterator[TestClient]:
    """The whole application with metrics, and with a household."""
    app = create_app(settings_of(database_url=store_url, metrics_key=METRICS_KEY))
    with TestClient(app, follow_redirects=False) as one:
        yield one


def addresses(service: TestClient) -> list[tuple[str, str]]:
    """Method and address of every route, its parameters filled in, and addresses that are none."""
    found = {("GET", address) for address in NO_ADDRESSES}
    for route in service.app.routes:  # type: ignore[attr-defined]
        for method in getattr(route, "methods", None) or {"GET"}:
            found.add((method, PARAMETER.sub("x", route.path)))
    return sorted(found)


def status(service: TestClient, method: str, path: str, *authorizations: bytes, **more: str) -> int:
    """What a request with these headers is answered; wrong keys of before are forgotten."""
    service.app.state.wrong_keys._counted.clear()  # type: ignore[attr-defined]
    headers = [
        *((b"Authorization", one) for one in authorizations),
        *((k.encode(), v.encode()) for k, v in more.items()),
    ]
    return service.request(method, path, headers=headers).status_code


def test_the_walk_sees_pages_static_files_and_the_api(service: TestClient) -> None:
    """A few of each kind, so that the walk cannot become empty."""
    found = addresses(service)
    assert {("GET", "/v1/health"), ("POST", "/v1/lunch-checks"), ("GET", "/week"), ("POST", "/sign-in"), ("GET", "/metrics"),
            ("GET", "/docs"), ("GET", "/problems/x"), ("GET", "/calendar/x.ics")} <= set(found)  # fmt: skip
    assert any(path.startswith("/static/") for _method, path in found)
    assert len(found) > 200


def test_no_junk_is_taken_for_no_key(service: TestClient) -> None:
    """One kind of junk at each address, every kind at some, and all of them on open ones."""
    walked = addresses(service)
    wrong = [
        (method, path, junk)
        for number, (method, path) in enumerate(walked)
        for junk in (JUNK if number % 20 == 0 or path in NO_ADDRESSES else JUNK[number % len(JUNK) :][:1])
        if status(service, method, path, junk) != 401
    ]
    assert wrong == []
    for path in (
        "/v1/health",
        "/sign-in",
        "/problems/not-found",
        "/static/style.css",
        "/docs",
        "/openapi.json",
        "/metrics",
    ):
        assert [junk for junk in JUNK if status(service, "GET", path, junk) != 401] == [], path


def test_keys_that_were_revoked_or_belong_elsewhere_are_401_everywhere(service: TestClient, store: Store) -> None:
    """Revoked; two at once, the right one first; the key of metrics at any other address."""
    with store.writing() as connection:
        household = create_household(connection, {})
        good = create_key(connection, household, "good", "keep")[1]
        gone, revoked = create_key(connection, household, "gone", "keep")
        revoke_key(connection, household, gone.id)
    assert status(service, "GET", "/v1/children", f"Bearer {good}".encode()) == 200
    for method, path in addresses(service):
        assert status(service, method, path, f"Bearer {revoked}".encode()) == 401, path
        assert status(service, method, path, f"Bearer {good}".encode(), b"Bearer x") == 401, path
        assert status(service, method, path, f"Bearer {good}".encode(), f"Bearer {good}".encode()) == 401, path
        opened = status(service, method, path, f"Bearer {METRICS_KEY}".encode())
        assert (opened == 200) == (path == "/metrics" and method in ("GET", "HEAD")), (method, path)


def test_another_scheme_is_no_key(service: TestClient) -> None:
    """401, but for what needs no key: a proxy in front may have a sign-in of its own, which browsers then send along."""
    for method, path in addresses(service):
        is_open = path == "/v1/health" or path.startswith(
            ("/problems/", "/static/", "/sign-in", "/language", "/calendar/")
        )
        for header in (b"Basic a2l0Y2hlbjpkb29y", b"Digest x", b"", b"Bearer\tx"):
            answered = status(service, method, path, header)
            assert (answered == 401) != is_open, (method, path, header, answered)


def test_the_services_own_key_opens_everything_that_needs_one(store_url: str) -> None:
    """And no other does, from this machine too; open addresses are answered without."""
    app = create_app(settings_of(database_url=store_url, access_key=SERVICE_KEY))
    with TestClient(app, follow_redirects=False) as service:
        for method, path in addresses(service):
            without = status(service, method, path)
            is_open = path == "/v1/health" or path.startswith(
                ("/problems/", "/static/", "/sign-in", "/language", "/calendar/")
            )
            assert (without == 401) != is_open, (method, path)
        right = f"Bearer {SERVICE_KEY}".encode()
        for path in ("/v1/foods/apple", "/v1/health", "/docs", "/problems/not-found"):
            assert status(service, "GET", path, right) == 200
