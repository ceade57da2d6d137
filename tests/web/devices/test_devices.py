"""The devices of a household: a parent sees, names, adds and signs them out; a link is shown once and signs in one device."""

import html
import re

import pytest

from tests.web.kitchens import OURS, Browser, Kitchen
from tests.web.reading import Page

LINK = re.compile(r'href="(http://[^"]*?)(/sign-in\?link=[A-Za-z0-9_-]{43})"')


def devices_of(kitchen: Kitchen) -> list[dict[str, str]]:
    from service.jobs.household.access.devices import list_devices

    with kitchen.store.reading() as connection:
        return list_devices(connection, kitchen.id)


def added(browser: Browser, **typed: str) -> tuple[Page, str, str]:
    """The page with the link, its address and its path."""
    there = browser.send(browser.get("/devices/new"), "/devices/new", **typed)
    found = LINK.search(there.html)
    assert found is not None
    return there, found[1], html.unescape(found[2])


def test_a_link_is_shown_once_with_its_code_and_signs_in_one_device(kitchen: Kitchen) -> None:
    parent = kitchen.browser()
    there, base, path = added(parent, name="hall tablet", rights="pack")
    assert base == "http://testserver"
    assert "It sees everything, and logs what is packed today." in there.text
    assert '<svg xmlns="http://www.w3.org/2000/svg"' in there.html
    assert "style=" not in there.html
    assert parent.last.headers["cache-control"] == "no-store"
    assert path not in parent.get("/devices").html
    other = Browser(parent.client.__class__(parent.client.app))
    other.send(other.get(path), "/sign-in")
    assert other.address == "/"
    assert [one["name"] for one in devices_of(kitchen)][-1] == "hall tablet"
    late = Browser(parent.client.__class__(parent.client.app))
    late.send(late.get(path), "/sign-in", status=403)


def test_the_code_holds_the_link(kitchen: Kitchen) -> None:
    """Drawn again by the same library from the link on the page, dot by dot (ISO/IEC 18004)."""
    from service.web.devices.qr import qr_code

    there, base, path = added(kitchen.browser(), rights="keep")
    assert str(qr_code(base + path)) in there.html
    assert str(qr_code(base + path + "x")) not in there.html


def test_a_device_for_one_childs_taking_needs_the_child(kitchen: Kitchen) -> None:
    parent = kitchen.browser()
    there = parent.send(
        parent.get("/devices/new"), "/devices/new", status=422, rights="take", name="by the door", child=""
    )
    assert "Choose the child whose taking page the device shows." in there.text
    assert dict(there.form("/devices/new").fields)["name"] == "by the door"
    rowan = kitchen.children["Rowan"]
    page, _base, path = added(parent, rights="take", child=rowan)
    assert "It shows Rowan's taking page, and nothing else." in page.text
    child = Browser(parent.client.__class__(parent.client.app))
    child.send(child.get(path), "/sign-in")
    assert child.address == f"/take/{rowan}"


def test_devices_are_named_and_signed_out(kitchen: Kitchen) -> None:
    parent, tablet, phone = (kitchen.browser() for _ in range(3))
    listed = parent.get("/devices")
    assert "3 devices are signed in." in listed.text
    assert listed.text.count("Sign out this device") == 1
    ids = [one["id"] for one in devices_of(kitchen)]
    parent.send(listed, f"/devices/{ids[1]}/name", name="kitchen tablet")
    assert "kitchen tablet" in parent.get("/devices").text
    empty = parent.send(parent.get("/devices"), f"/devices/{ids[1]}/name", status=422, name="")
    assert empty.form(f"/devices/{ids[1]}/name")
    parent.send(parent.get("/devices"), f"/devices/{ids[1]}/sign-out")
    tablet.get("/")
    assert tablet.address == "/sign-in"
    phone.get("/")
    assert phone.address == "/"
    kitchen.browser()
    parent.send(parent.get("/devices"), "/devices/sign-out-others")
    assert [one["id"] for one in devices_of(kitchen)] == [ids[0]]
    parent.send(parent.get("/devices"), "/sign-out")
    assert parent.address == "/sign-in"
    assert devices_of(kitchen) == []


@pytest.mark.parametrize(("host", "listens_on", "words"), [
    ("localhost:8087", "127.0.0.1", "packed-lunch serve --host 0.0.0.0"),
    ("127.0.0.1:8087", "192.0.2.7", "be able to open http://192.0.2.7:8087."),
    ("localhost:8087", "0.0.0.0", "be able to open http://192.0.2.44:8087."),  # noqa: S104 - never bound
    ("192.0.2.9:8087", "0.0.0.0", "be able to open http://192.0.2.9:8087."),  # noqa: S104 - never bound
])  # fmt: skip
def test_it_says_how_the_other_device_gets_here(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch, host: str, listens_on: str, words: str
) -> None:
    """Addresses of RFC 5737. A link that only this computer can open is not given out for another's."""
    from starlette.testclient import TestClient

    from service.web.devices import reach

    monkeypatch.setattr(reach, "home_address", lambda: "192.0.2.44")
    cookies = kitchen.browser().client.cookies
    app = kitchen.app(host=listens_on)
    there = Browser(TestClient(app, base_url=f"http://{host}"))
    for name, value in cookies.items():
        there.client.cookies.set(name, value)
    assert words in there.get("/devices/new").text
    shown, base, _path = added(there, rights="keep")
    assert words in shown.text
    assert base in (words.removeprefix("be able to open ").removesuffix("."), f"http://{host}")


def test_only_who_may_do_everything_sees_devices(kitchen: Kitchen) -> None:
    for browser in (kitchen.browser("pack"), kitchen.browser("take", kitchen.children["Rowan"])):
        browser.get("/devices", status=403)
        browser.get("/devices/new", status=403)
        answer = browser.client.post("/devices/sign-out-others", data={}, headers=OURS)
        assert answer.status_code == 403
    assert len(devices_of(kitchen)) == 2
