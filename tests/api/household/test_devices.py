"""Promise: a device that is signed in may do over HTTP what its rights say, and only for pages of this service's origin.

Fetch Metadata (W3C, Sec-Fetch-Site), RFC 6454 (Origin), OWASP API Security Top 10 2023 API1, API2 and API5.
"""

from typing import Any
from uuid import UUID

import pytest
from starlette.testclient import TestClient

from service.api.app import create_app
from service.api.gate.device_cookie import COOKIE
from service.jobs.household.access.devices import sign_out
from service.jobs.household.access.sign_in_links import NewLink, SignedIn, make_link, redeem
from service.store.database import Store
from service.web.problem_pages import refusal_page
from tests.api.clients import LUNCH, settings_of
from tests.api.household.homes import FHIR_TYPE, Home, child_body, lunch_body, today
from tests.api.household.test_every_route import HOUSEHOLD_ROUTES, address, every_route, ids_of, whole_body
from tests.api.problems_seen import problem_of

OURS = {"Sec-Fetch-Site": "same-origin"}
ANSWERED = range(200, 300)


def sign_in(store: Store, household: UUID, rights: str, child: str | None = None) -> SignedIn:
    """A device of a household."""
    with store.writing() as connection:
        link = make_link(connection, household, NewLink(name="tablet", rights=rights, child=child))  # type: ignore[arg-type]
    made = redeem(store, link.secret)
    assert made is not None
    return made


def by_device(service: TestClient, secret: str, method: str, path: str, body: Any = None, **headers: str) -> Any:
    """A request as a page of ours makes it, unless the headers say otherwise."""
    more = {"Cookie": f"other=1; {COOKIE}={secret}; last=2", **OURS, "If-Match": "*"}
    more |= {name.replace("_", "-"): value for name, value in headers.items()}
    more = {name: value for name, value in more.items() if value}
    if method == "PATCH":
        more["Content-Type"] = "application/merge-patch+json"
    elif body is not None and path.endswith("/avoids"):
        more["Content-Type"] = FHIR_TYPE
    return service.request(method, path, json=body, headers=more)


def test_a_device_that_keeps_everything_does_so(home: Home, store: Store) -> None:
    """Every GET is answered as with a key; it writes; it reaches its own household only."""
    ids = ids_of(home)
    device = sign_in(store, home.id, "keep")
    for method, path in HOUSEHOLD_ROUTES:
        if method == "GET":
            mine = by_device(home.service, device.secret, "GET", address(path, ids))
            assert mine.status_code in ANSWERED, path
            assert mine.text == home.ask("GET", address(path, ids)).text
    made = by_device(home.service, device.secret, "POST", "/v1/children", child_body("Sorrel"))
    assert made.status_code == 201


def test_a_device_reaches_nothing_of_another_household(home: Home, neighbours: Home, store: Store) -> None:
    """As with a key: every address with an id in it is 404."""
    ids = ids_of(home)
    device = sign_in(store, neighbours.id, "keep")
    for method, path in HOUSEHOLD_ROUTES:
        if "{" in path:
            body = {"PUT": whole_body(path, ids), "PATCH": {}, "POST": whole_body(path, ids)}.get(method)
            problem_of(by_device(home.service, device.secret, method, address(path, ids), body), 404, "not-there")


def test_a_device_to_pack_logs_the_day_and_no_more(home: Home, store: Store) -> None:
    """It reads all, logs today's lunch, and is refused the rest with what it is told."""
    ids = ids_of(home)
    device = sign_in(store, home.id, "pack")
    wren = home.kept("/v1/children", child_body("Wren"))
    assert by_device(home.service, device.secret, "POST", "/v1/lunches", lunch_body(wren, today())).status_code == 201
    far = by_device(home.service, device.secret, "POST", "/v1/lunches", lunch_body(wren, today(9)))
    problem_of(far, 403, "forbidden-right")
    for method, path in HOUSEHOLD_ROUTES:
        if method == "GET":
            assert by_device(home.service, device.secret, "GET", address(path, ids)).status_code in ANSWERED
        elif "lunches" not in path:
            body = whole_body(path, ids) if method != "DELETE" else None
            told = problem_of(
                by_device(home.service, device.secret, method, address(path, ids), body), 403, "forbidden-right"
            )
            assert "device" in told["detail"]


def test_a_device_to_take_uses_nothing_of_the_api(home: Home, store: Store) -> None:
    """Not even what anybody may ask from this machine; health alone is open."""
    ids = ids_of(home)
    device = sign_in(store, home.id, "take", ids["child_id"])
    before = home.ask("GET", "/v1/export").json()
    for method, path in every_route():
        if not path.startswith("/v1/") or path == "/v1/health":
            continue
        place = path.replace("{standard_id}", "us-school-lunch")
        body = whole_body(path, ids) if method not in ("GET", "DELETE") and path.count("/") > 1 else None
        answer = by_device(home.service, device.secret, method, address(place, ids), body)
        told = problem_of(answer, 403, "forbidden-right")
        assert "one child" in told["detail"]
    assert home.ask("GET", "/v1/export").json() == before
    assert by_device(home.service, device.secret, "GET", "/v1/health").status_code == 200


CROSS_SITE: list[dict[str, str]] = [
    {"Sec_Fetch_Site": "cross-site"}, {"Sec_Fetch_Site": "same-site"}, {"Sec_Fetch_Site": "none"},
    {"Sec_Fetch_Site": "cross-site", "Origin": "http://testserver"}, {"Sec_Fetch_Site": ""},
    {"Sec_Fetch_Site": "", "Origin": "null"}, {"Sec_Fetch_Site": "", "Origin": "http://kitchen.example"},
    {"Sec_Fetch_Site": "", "Origin": "https://testserver"}, {"Sec_Fetch_Site": "", "Origin": "http://testserver:8087"},
    {"Sec_Fetch_Site": "", "Origin": "http://testserver.kitchen.example"}, {"Sec_Fetch_Site": "", "Referer": "http://testserver/"},
    {"Sec_Fetch_Site": "cross-site", "Content_Type": "text/plain"},
    {"Sec_Fetch_Site": "", "Content_Type": "application/x-www-form-urlencoded"},
]  # fmt: skip


@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE"])
def test_what_another_site_has_sent_is_refused(home: Home, store: Store, method: str) -> None:
    """On every kind of address, known or not; a cookie that is not known makes no difference; nothing is changed."""
    device = sign_in(store, home.id, "keep")
    before = home.ask("GET", "/v1/export").json()
    for headers in CROSS_SITE:
        for secret in (device.secret, "x" * 43):
            for path in ("/v1/children", "/v1/lunch-checks", "/", "/v1/health"):
                answer = by_device(home.service, secret, method, path, child_body("Sorrel"), **headers)
                problem_of(answer, 403, "cross-site-request", path)
    assert home.ask("GET", "/v1/export").json() == before


@pytest.mark.parametrize("headers", [
    {"Sec_Fetch_Site": "same-origin"}, {"Sec_Fetch_Site": "", "Origin": "http://testserver"}, {"Sec_Fetch_Site": "", "Origin": "http://testserver:80"},
    {"Sec_Fetch_Site": "same-origin", "Origin": "http://kitchen.example"},
])  # fmt: skip
def test_what_a_page_of_ours_has_sent_is_carried_out(home: Home, store: Store, headers: dict[str, str]) -> None:
    """By what the browser says of itself, or else by its origin."""
    device = sign_in(store, home.id, "keep")
    answer = by_device(home.service, device.secret, "POST", "/v1/children", child_body("Sorrel"), **headers)
    assert answer.status_code == 201


def test_reading_and_keys_are_not_asked_where_they_come_from(home: Home, store: Store) -> None:
    """A GET changes nothing; a request with a key is no page's, whatever cookie comes along."""
    device = sign_in(store, home.id, "take", home.kept("/v1/children", child_body()))
    keep = sign_in(store, home.id, "keep")
    assert by_device(home.service, keep.secret, "GET", "/v1/children", Sec_Fetch_Site="cross-site").status_code == 200
    made = by_device(
        home.service, device.secret, "POST", "/v1/children", child_body("Sorrel"),
        Sec_Fetch_Site="cross-site", Authorization=f"Bearer {home.keep}",
    )  # fmt: skip
    assert made.status_code == 201
    refused = by_device(home.service, keep.secret, "GET", "/v1/children", Authorization="Bearer " + "x" * 43)
    problem_of(refused, 401, "access-key-refused")


def test_a_device_that_is_signed_out_is_not_known(home: Home, store: Store) -> None:
    """401 on the API, on addresses that need no key too; other addresses take the cookie for none."""
    device = sign_in(store, home.id, "keep")
    with store.writing() as connection:
        sign_out(connection, home.id, str(device.device.id))
    for secret in (device.secret, "x" * 43, "", "short", home.keep):
        for method, path in (("GET", "/v1/children"), ("GET", "/v1/foods/apple"), ("POST", "/v1/lunch-checks")):
            answer = by_device(home.service, secret, method, path, LUNCH if method == "POST" else None)
            problem_of(answer, 401, "not-signed-in", path)
        for path, status in (("/docs", 200), ("/nowhere", 404), ("/v1/health", 200)):
            assert by_device(home.service, secret, "GET", path).status_code == status
    for _ in range(12):  # no number of them shuts the household out
        by_device(home.service, "x" * 43, "GET", "/v1/children")
    assert home.ask("GET", "/v1/children").status_code == 200


def test_a_device_is_let_in_from_elsewhere(store_url: str, home: Home, store: Store) -> None:
    """To all that needs a key there; with the service's own key set too. Address of RFC 5737."""
    device = sign_in(store, home.id, "pack")
    for key in ("", "kitchen-door-0123456789"):
        app = create_app(settings_of(database_url=store_url, access_key=key))
        with TestClient(app, client=("192.0.2.7", 50_000)) as there:
            for path in ("/v1/children", "/v1/foods/apple", "/docs"):
                assert by_device(there, device.secret, "GET", path).status_code == 200
                assert there.get(path).status_code == 401
            for path in ("/docs", "/nowhere"):
                problem_of(by_device(there, "x" * 43, "GET", path), 401, "access-key-needed", path)


def test_pages_that_sign_in_are_open_and_browsers_are_sent_there(store_url: str) -> None:
    """For pages only, and only browsers: who asks for JSON, or for the API, is told what is missing."""
    app = create_app(
        settings_of(database_url=store_url), open_prefixes=("/static/", "/sign-in"), refusal_page=refusal_page
    )
    page = {"Accept": "text/html,application/xhtml+xml,*/*;q=0.8"}
    with TestClient(app, client=("192.0.2.7", 50_000), follow_redirects=False) as there:
        for path in ("/sign-in", "/static/styles.css"):
            assert there.get(path, headers=page).status_code == 404  # let through; the pages themselves are not here
        for path in ("/", "/docs", "/week"):
            sent = there.get(path, headers=page)
            assert (sent.status_code, sent.headers["location"]) == (303, "/sign-in")
            problem_of(there.get(path), 401, "access-key-needed", path)
        problem_of(there.get("/v1/children", headers=page), 401, "access-key-needed", "/v1/children")
        problem_of(there.post("/week"), 401, "access-key-needed", "/week")
        sent = there.post("/week", headers=page)
        assert (sent.status_code, sent.headers["content-type"]) == (401, "text/html; charset=utf-8")


def test_behind_a_proxy_everybody_needs_a_key(store_url: str) -> None:
    """Said by the setting, or by the header that a proxy adds (RFC 7239)."""
    proxied = create_app(settings_of(database_url=store_url, behind_proxy=True))
    plain = create_app(settings_of(database_url=store_url))
    with TestClient(proxied, client=("127.0.0.1", 50_000)) as here:
        assert here.get("/v1/foods/apple").status_code == 401
        assert here.get("/v1/health").status_code == 200
    with TestClient(plain, client=("127.0.0.1", 50_000)) as here:
        assert here.get("/v1/foods/apple").status_code == 200
        for header in ("X-Forwarded-For", "Forwarded"):
            assert here.get("/v1/foods/apple", headers={header: "for=192.0.2.7"}).status_code == 401


def test_without_a_cookie_the_store_is_not_asked(kitchen: TestClient) -> None:
    """Nor opened: signing in costs those nothing who do not use it."""
    households = kitchen.app.state.households  # type: ignore[attr-defined]
    assert (
        kitchen.post("/v1/lunch-checks", json=LUNCH, headers={"Cookie": "theme=dark; packed_lunch_other=1"}).status_code
        == 200
    )
    assert households._store is None
