"""Promise: over TLS a device's cookie can be set by this host alone; a device that signed in before stays signed in.

The prefix: RFC 6265bis section 4.1.3.2: ``__Host-`` asks for Secure, Path=/ and no Domain.
"""

from collections.abc import Iterator
from http.cookies import SimpleCookie

import pytest
from starlette.testclient import TestClient

from service.jobs.household.access.sign_in_links import NewLink, make_link
from service.store.access.households import create_household
from service.store.database import Store
from service.web.app import create_app
from tests.api.clients import settings_of

PAGE = {"Sec-Fetch-Site": "same-origin", "Accept": "text/html"}
PLAIN, OVER_TLS = "packed_lunch_device", "__Host-packed_lunch_device"


@pytest.fixture
def service(store_url: str, store: Store) -> Iterator[TestClient]:
    """The whole application, which keeps no cookies by itself: each request says which it sends."""
    with TestClient(create_app(settings_of(database_url=store_url)), follow_redirects=False) as one:
        yield one


def signed_in(service: TestClient, store: Store, scheme: str) -> SimpleCookie:
    """What a sign-in over http or https sets."""
    with store.writing() as connection:
        link = make_link(connection, create_household(connection, {}), NewLink(rights="keep")).secret
    answer = service.post(f"{scheme}://testserver/sign-in", data={"link": link}, headers=PAGE)
    service.cookies.clear()
    assert answer.status_code == 303
    return SimpleCookie(answer.headers["set-cookie"])


def seen(service: TestClient, cookies: str, scheme: str = "https") -> int:
    """How the page of devices answers."""
    return service.get(f"{scheme}://testserver/devices", headers={**PAGE, "Cookie": cookies}).status_code


def test_over_tls_the_name_has_the_prefix_and_what_it_asks_for(service: TestClient, store: Store) -> None:
    ((name, cookie),) = signed_in(service, store, "https").items()
    assert name == OVER_TLS
    assert (cookie["secure"], cookie["path"], cookie["domain"]) == (True, "/", "")
    assert (cookie["httponly"], cookie["samesite"]) == (True, "strict")
    assert seen(service, f"{name}={cookie.value}") == 200


def test_without_tls_the_name_is_plain(service: TestClient, store: Store) -> None:
    ((name, cookie),) = signed_in(service, store, "http").items()
    assert (name, cookie["secure"]) == (PLAIN, "")
    assert seen(service, f"{name}={cookie.value}", "http") == 200


def test_who_signed_in_by_the_plain_name_stays_signed_in_over_tls(service: TestClient, store: Store) -> None:
    (cookie,) = signed_in(service, store, "http").values()
    assert seen(service, f"{PLAIN}={cookie.value}") == 200


def test_a_plain_cookie_cannot_take_the_place_of_the_stricter_one(service: TestClient, store: Store) -> None:
    (cookie,) = signed_in(service, store, "https").values()
    assert seen(service, f"{PLAIN}=of-another-site; {OVER_TLS}={cookie.value}") == 200
    assert seen(service, f"{OVER_TLS}=of-nobody; {PLAIN}={cookie.value}") != 200


def test_forms_and_signing_out_go_by_the_stricter_name_too(service: TestClient, store: Store) -> None:
    """A form's token is made from it; signing out takes both names away."""
    (cookie,) = signed_in(service, store, "https").values()
    sent = {**PAGE, "Cookie": f"{OVER_TLS}={cookie.value}"}
    page = service.get("https://testserver/devices", headers=sent).text
    token = page.partition('name="token" value="')[2].partition('"')[0]
    assert token
    answer = service.post("https://testserver/sign-out", data={"token": token}, headers=sent)
    assert answer.status_code == 303
    gone = SimpleCookie("; ".join(answer.headers.get_list("set-cookie")))
    assert set(gone) == {OVER_TLS, PLAIN}
    assert seen(service, f"{OVER_TLS}={cookie.value}") != 200
