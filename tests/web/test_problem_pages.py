"""Promise: what cannot be done is answered with a page that says what to do; what was typed is kept where it can be sent again."""

from collections.abc import Iterator
from contextlib import closing
from typing import Any

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from service.domain.errors import LunchError, StoreFault
from service.domain.messages import message
from service.jobs.household.access.opened import Households
from service.jobs.household.kinds import PRICES
from service.store.database import Store
from service.web.forms.form import LARGEST_FORM, SentForm
from service.web.records import keep_parts
from service.web.today import routes as today_routes
from service.web.viewer import Parent
from tests.api.clients import PROBLEM
from tests.web.kitchens import OURS, Browser
from tests.web.reading import Page
from tests.web.walking import FullKitchen, full_kitchen, token_of

HTML = {"Accept": "text/html,application/xhtml+xml,*/*;q=0.8"}


@pytest.fixture
def home(store: Store, store_url: str, on: Any) -> Iterator[FullKitchen]:
    """A household that has one of everything."""
    with closing(full_kitchen(store, store_url, "cake & <tea>", on)) as made:
        yield made


def title_of(answer: Any) -> str:
    page = Page(answer.text)
    return page.html.partition("<h1>")[2].partition("</h1>")[0]


def sent(browser: Browser, address: str, data: Any, **headers: str) -> Any:
    return browser.client.post(address, data=data, headers={**HTML, **OURS, **headers}, follow_redirects=False)


def test_a_form_with_an_old_token_keeps_what_was_typed(home: FullKitchen) -> None:
    """The page was open while the device was signed in anew: the token is renewed, and it can be sent again."""
    browser = home.browser()
    data = {"token": "0" * 64, "name": 'the "Hazels" <b>', "salts": "yes"}
    stale = sent(browser, "/care/household", data)
    assert stale.status_code == 403
    assert title_of(stale) == "This page was open for a long time"
    page = Page(stale.text)
    assert 'the "Hazels" <b>' in page.text
    browser.send(page, "/care/household")
    assert dict(browser.get("/care").form("/care/household").fields)["name"] == 'the "Hazels" <b>'


def test_an_edit_that_another_device_overtook_can_be_sent_again_on_what_is_there(home: FullKitchen) -> None:
    """Where a page shows no comparison of its own: the form now carries the version that is there."""
    app = home.app()

    @app.post("/somewhere/{price}")
    def save(viewer: Parent, price: str, form: SentForm) -> dict[str, str]:
        parts = {"amount_minor": int(form.text("amount"))}
        keep_parts(viewer.who(), PRICES, price, form.text("version"), parts)
        return {}

    browser = home.browser()
    browser.client = TestClient(app, cookies=browser.client.cookies)
    address = f"/somewhere/{home.ids['price']}"
    data = {"token": token_of(browser), "version": "1", "amount": "310", "note": "two of each"}
    assert sent(browser, address, data).status_code == 200
    late = sent(browser, address, {**data, "amount": "420"})
    assert (late.status_code, title_of(late)) == (409, "It was changed on another device")
    form = Page(late.text).form(address)
    assert dict(form.fields) | {"token": ""} == {"token": "", "version": "2", "amount": "420", "note": "two of each"}
    assert "two of each" in Page(late.text).text
    assert sent(browser, address, form.data()).status_code == 200


def test_nothing_here(home: FullKitchen) -> None:
    browser = home.browser()
    for address in ("/nowhere", "/take/none", "/?day=soon", f"/take/{home.ids['food']}", "/care/keys/new"):
        browser.get(address, status=405 if address == "/care/keys/new" else 404)
        assert title_of(browser.last) == "There is nothing here"


def test_a_device_that_may_not(home: FullKitchen) -> None:
    browser = home.browser("pack")
    browser.get("/care", status=403)
    assert title_of(browser.last) == "This device may not do that"


def test_too_much_at_once(home: FullKitchen) -> None:
    """It is read away, so that the browser comes to show the page."""
    browser = home.browser()
    answer = sent(browser, "/care/household", {"token": token_of(browser), "name": "x" * LARGEST_FORM})
    assert (answer.status_code, title_of(answer)) == (413, "That is too much at once")

    def endless() -> Any:
        yield b"name=" + b"x" * 1000

    unsized = browser.client.post(
        "/care/household",
        content=endless(),
        headers={**HTML, **OURS, "Content-Type": "application/x-www-form-urlencoded"},
    )
    assert unsized.status_code == 413


def test_refusals_of_the_gate_are_pages_for_browsers(home: FullKitchen) -> None:
    """And problems for everybody else."""
    browser = home.browser()
    ask = browser.client
    host = {"Host": "kitchen.example"}
    other = ask.get("/", headers={**HTML, **host})
    assert (other.status_code, title_of(other)) == (421, "This is not the address of this service")
    assert "kitchen.example" not in other.text
    broken = ask.get("/", headers={**HTML, "Host": "[::1"})
    assert broken.status_code == 421
    assert ask.get("/", headers={"Accept": "*/*", **host}).headers["content-type"] == PROBLEM
    assert ask.get("/v1/foods", headers={**HTML, **host}).headers["content-type"] == PROBLEM
    typed = {"token": token_of(browser), "name": "the neighbours"}
    foreign = sent(browser, "/care/household", typed, **{"Sec-Fetch-Site": "cross-site"})
    assert (foreign.status_code, title_of(foreign)) == (403, "This did not come from one of these pages")
    assert "the neighbours" not in foreign.text
    assert "content-security-policy" in foreign.headers


def test_too_many_wrong_keys(home: FullKitchen) -> None:
    service = TestClient(home.app(), follow_redirects=False)
    for _key in range(10):
        wrong = service.get("/", headers={**HTML, "Authorization": "Bearer " + "x" * 43})
        assert (wrong.status_code, title_of(wrong)) == (401, "This access key is not known")
    shut = service.get("/", headers={**HTML, "Authorization": "Bearer " + "x" * 43})
    assert (shut.status_code, title_of(shut)) == (429, "Too many wrong keys or links")
    assert int(shut.headers["retry-after"]) > 0


def test_a_form_sent_after_signing_out_says_how_to_go_on(home: FullKitchen) -> None:
    browser = home.browser()
    token = token_of(browser)
    browser.send(browser.get("/devices"), "/sign-out")
    for client in ("127.0.0.1", "192.0.2.9"):
        there = TestClient(home.app(), client=(client, 50_000))
        answer = there.post("/care/household", data={"token": token, "name": "x"}, headers={**HTML, **OURS})
        assert (answer.status_code, title_of(answer)) == (401, "This device is not signed in any more")


def test_the_store_away(home: FullKitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    """At the gate and within a page: nothing is looked up for the page, and a form is not lost."""
    away = StoreFault(pointer="", value="the store", problem=message("fault.store-no-answer"))
    browser = home.browser()
    token = token_of(browser)

    def fails(*_given: Any, **_named: Any) -> Any:
        raise away

    with monkeypatch.context() as broken:
        broken.setattr("service.web.care.routes.change_settings", fails)
        lost = sent(browser, "/care/household", {"token": token, "name": "the Hazels", "salts": ""})
    assert (lost.status_code, title_of(lost)) == (503, "What is stored cannot be reached just now")
    browser.send(Page(lost.text), "/care/household")
    assert dict(browser.get("/care").form("/care/household").fields)["name"] == "the Hazels"
    with monkeypatch.context() as broken:
        broken.setattr(Households, "signed_in", fails)
        broken.setattr(Households, "store", fails)
        gone = browser.client.get("/care", headers=HTML)
        assert (gone.status_code, title_of(gone)) == (503, "What is stored cannot be reached just now")
        assert browser.client.get("/v1/children").headers["content-type"] == PROBLEM


def test_a_fault_of_ours_shows_nothing_of_the_inside(home: FullKitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_given: Any) -> Any:
        raise KeyError("Zebulonia")

    browser = home.browser()
    monkeypatch.setattr(today_routes, "family_day", broken)
    answer = browser.client.get("/", headers=HTML)
    assert (answer.status_code, title_of(answer)) == (500, "Something went wrong here")
    assert "Zebulonia" not in answer.text


def test_too_much_being_worked_on_says_when_to_come_back(home: FullKitchen) -> None:
    from service.api.problems import ApiProblem
    from service.domain.messages import message

    app: FastAPI = home.app()

    @app.post("/somewhere")
    def full(_viewer: Parent, _form: SentForm) -> None:
        raise ApiProblem("too-busy", message("fault.queue-full", number=100, seconds=5), {"Retry-After": "5"})

    browser = home.browser()
    browser.client = TestClient(app, cookies=browser.client.cookies)
    answer = sent(browser, "/somewhere", {"token": token_of(browser), "note": "two of each"})
    assert (answer.status_code, title_of(answer)) == (429, "The service is busy")
    assert answer.headers["retry-after"] == "5"
    assert "two of each" in answer.text


@pytest.mark.parametrize("slug", ["already-there", "still-used", "must-not-be-packed"])
def test_conflicts_have_words_of_their_own(home: FullKitchen, slug: str) -> None:
    """Not those of an edit that was overtaken."""
    app: FastAPI = home.app()

    class Refused(LunchError):
        pass

    Refused.slug = slug

    @app.post("/somewhere")
    def refuse(_viewer: Parent, _form: SentForm) -> None:
        raise Refused(pointer="/name", value="<i>soup</i>", problem=message("fault.nickname-twice"))

    browser = home.browser()
    browser.client = TestClient(app, cookies=browser.client.cookies)
    answer = sent(browser, "/somewhere", {"token": token_of(browser)})
    assert answer.status_code == 409
    assert title_of(answer) != "It was changed on another device"
    assert "<i>soup" not in answer.text
    assert "&lt;i&gt;soup" in answer.text
