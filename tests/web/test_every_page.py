"""Promise: every page and form lets in who may, changes nothing for who may not, and shows what was typed as text.

The walk reads the routers, so a page that is new is walked too. Attacks: OWASP API Security Top 10 (2023) 1 and 5;
cross-site requests: W3C Fetch Metadata, RFC 6454; bidirectional marks: Unicode Standard Annex 9.
"""

import re
from collections.abc import Iterator
from contextlib import closing
from datetime import date
from typing import Any

import pytest
from fastapi import APIRouter, Response
from sqlalchemy import select, update
from starlette.testclient import TestClient

from service.api.gate.access import OPEN_PATHS, OPEN_PREFIX
from service.jobs.household.kinds import RESOURCES
from service.jobs.household.records import list_records
from service.store.database import Store
from service.web import app as application
from service.web.routers import ROUTERS
from service.web.viewer import Parent, SignedIn
from tests.web import walking
from tests.web.kitchens import OURS, Browser
from tests.web.reading import Page, ReadForm
from tests.web.walking import (
    DAYS,
    PARAMETER,
    PARENTS,
    TURNED,
    WEEKS,
    FullKitchen,
    Looked,
    Route,
    all_routes,
    device_named,
    full_kitchen,
    token_of,
)

HTML = {"Accept": "text/html"}
ROUTES = all_routes()
PAGES = [one for one in ROUTES if one.method == "GET"]
FORMS = [one for one in ROUTES if one.method == "POST"]
FEED = "/calendar/{key}.ics"
OPEN_TO_ANYBODY = {"/sign-in", "/language", FEED}
"""Answered without signing in: the page to do so, the switch of the language, which changes a cookie only, and the calendar for
whoever has its key (``tests/web/kitchen/test_calendar_feed.py``).
"""
OF_A_CHILD = {"/", "/take/{child}", "/take/{child}/undo", "/events", "/events/mark", "/sign-out"} | OPEN_TO_ANYBODY
"""All that a device for one child's taking may ask for."""
FORMS_OF_PACKERS = {
    "/take/{child}",
    "/take/{child}/undo",
    "/week/{child}/came-back/{day}",
    "/sign-out",
} | OPEN_TO_ANYBODY
"""All that a device changes that sees everything and logs what is packed today."""
ENDLESS = {"/events"}
NOT_PAGES = {"/events", "/events/mark"}
NEVER_FILLED = {
    "/packets/{packet}/photo",
    "/set-out/compare",
    FEED,
    "/plans/{plan}/labels.pdf",
    "/plans/{plan}/prep/{day}.pdf",
}
"""Pages that no record of the walk's household leads to: it has no photograph, not two offers, and the key is stored nowhere; its
names have a letter that no font for paper has (``tests/web/kitchen`` fills both).
"""
REMOVED = ("/remove", "/discard")
FILES = re.compile(r"^/care/(backup|export)$")
ATTACK = f"<script>x()</script>\"'&{TURNED}b"
FOREIGN = "Zebulonia"
CROSS_SITE: list[dict[str, str]] = [
    {"Sec-Fetch-Site": "cross-site"},
    {"Sec-Fetch-Site": "same-site"},
    {"Sec-Fetch-Site": "none"},
    {"Origin": "https://kitchen.example"},
    {"Origin": "null"},
    {},
]


@pytest.fixture
def home(store: Store, store_url: str, on: date) -> Iterator[FullKitchen]:
    """Our household: every text in it is an attack."""
    with closing(full_kitchen(store, store_url, ATTACK, on)) as made:
        yield made


@pytest.fixture
def neighbours(store: Store, store_url: str, on: date) -> Iterator[FullKitchen]:
    """Another household of the same store."""
    with closing(full_kitchen(store, store_url, FOREIGN, on)) as kitchen:
        device_named(kitchen, "keep", FOREIGN)
        yield kitchen


def asked(browser: Browser, address: str, **query: str) -> Any:
    """A page, or where it leads to."""
    return browser.client.get(address, params=query, headers=HTML, follow_redirects=False)


def sent(browser: Browser, address: str, data: Any, headers: dict[str, str] = OURS) -> Any:
    """What a form is answered with."""
    return browser.client.post(address, data=data, headers={**HTML, **headers}, follow_redirects=False)


def walked(browser: Browser, kitchen: FullKitchen, on: date) -> dict[str, Any]:
    """Every page that a device comes to: each route with each id, then every link on them, once; by their addresses."""
    found: dict[str, Any] = {}
    waiting = [
        address
        for route in PAGES
        if route.path not in NOT_PAGES
        for address in route.addresses([*kitchen.all_ids, "apple"], on)
    ]
    while waiting and len(found) < 600:
        address = waiting.pop().partition("#")[0]
        if address in found or not address.startswith("/") or address.startswith(("/static/", "/docs", "/events")):
            continue
        found[address] = asked(browser, address)
        if found[address].status_code == 200 and found[address].headers["content-type"].startswith("text/html"):
            waiting += [link for link, _words in Page(found[address].text).links]
    return found


def forms_on(pages: dict[str, Any]) -> list[ReadForm]:
    """The forms that change something, each address once."""
    forms: dict[str, ReadForm] = {}
    for answer in pages.values():
        if answer.status_code == 200 and answer.headers["content-type"].startswith("text/html"):
            for form in Page(answer.text).forms:
                if form.method == "post":
                    forms.setdefault(form.action, form)
    return list(forms.values())


def route_of(address: str, method: str) -> Route | None:
    """The route that answers an address."""
    path = address.partition("?")[0]
    fits = [one for one in ROUTES if one.method == method and re.fullmatch(PARAMETER.sub("[^/]+", one.path), path)]
    return min(fits, key=lambda one: len(one.parameters), default=None)


def test_only_known_addresses_are_open_to_anybody() -> None:
    assert {one.path for one in ROUTES if one.rights is None} <= OPEN_TO_ANYBODY
    assert {one.method for one in ROUTES} <= {"GET", "POST"}
    assert {one.path for one in FORMS if one.rights not in (None, PARENTS)} <= FORMS_OF_PACKERS


def test_every_address_of_the_application_is_walked(home: FullKitchen) -> None:
    """What the application answers beside the API is in the routers that the walk reads, and nowhere else."""
    from service.api.app import create_app as create_api

    def answers(*routers: Any) -> set[tuple[str, str]]:
        found = [one.endpoint for router in routers for one in router.routes if hasattr(one, "endpoint")]
        return {(one.__module__, one.__qualname__) for one in found}

    assert answers(home.app()) - answers(create_api()) == answers(*ROUTERS)


def test_a_new_page_without_its_guards_would_be_found(home: FullKitchen, monkeypatch: pytest.MonkeyPatch) -> None:
    """A page for anybody, a form that takes no token, and one of a child's device: each fails the rule of its test."""
    careless = APIRouter()

    @careless.get("/careless/page")
    def page_for_anybody() -> Response:
        return Response("<p>" + ATTACK, media_type="text/html")

    @careless.post("/careless/form")
    def form_without_token(viewer: Parent) -> Response:
        return Response(viewer.language)

    @careless.get("/careless/child")
    def page_of_a_child(viewer: SignedIn) -> Response:
        return Response(viewer.language)

    monkeypatch.setattr(walking, "ROUTERS", (*ROUTERS, careless))
    monkeypatch.setattr(application, "ROUTES", (*application.ROUTES, *careless.routes))
    found = {one.path: one for one in walking.all_routes()}
    assert found["/careless/page"].rights is None
    assert found["/careless/page"].path not in OPEN_TO_ANYBODY
    browser, child = device_named(home, "keep", "kitchen"), device_named(home, "take", "door", home.ids["child"])
    assert found["/careless/form"].rights == PARENTS
    assert sent(browser, "/careless/form", {"token": ""}).status_code == 200  # the rule: 403
    assert found["/careless/child"].rights == walking.ALL
    assert found["/careless/child"].path not in OF_A_CHILD
    assert asked(child, "/careless/child").status_code == 200  # the rule: 403 or 404
    with pytest.raises((AssertionError, KeyError)):
        looked_at("/careless/page", asked(browser, "/careless/page"))


def test_a_childs_device_has_nothing_of_the_json_api(home: FullKitchen) -> None:
    """Every address and method that the document of the API names, with ids of its own household."""
    app = home.app()
    browser = device_named(home, "take", "door", home.ids["child"])
    before, tried = home.stored(), 0
    for path, methods in app.openapi()["paths"].items():
        if path in OPEN_PATHS or path.startswith(OPEN_PREFIX):
            continue
        for one in (home.ids["child"], home.ids["lunch"]):
            address = PARAMETER.sub(one, path)
            for method in methods:
                answer = browser.client.request(method.upper(), address, json={}, headers=OURS, follow_redirects=False)
                assert answer.status_code == 403, (method, address)
                tried += 1
    assert tried > 100
    assert home.stored() == before


@pytest.mark.parametrize("client", ["127.0.0.1", "192.0.2.9"])
def test_without_signing_in_there_is_nothing(home: FullKitchen, on: date, client: str) -> None:
    """From this machine and from another (RFC 5737): a page leads to signing in, a form changes nothing."""
    before = home.stored()
    stranger = Browser(TestClient(home.app(), client=(client, 50_000)))
    for route in ROUTES:
        if route.path in OPEN_TO_ANYBODY:
            continue
        for address in list(route.addresses(home.all_ids, on))[:3]:
            if route.method == "GET":
                answer = asked(stranger, address)
                assert (answer.status_code, answer.headers.get("location")) == (303, "/sign-in"), address
            else:
                for data in ({}, {"token": ""}, {"token": "0" * 64}):
                    answer = sent(stranger, address, data)
                    assert answer.status_code in (401, 403), address
                    assert home.ids["child"] not in answer.text.replace(address, "")
    assert home.stored() == before


@pytest.mark.parametrize("rights", ["pack", "take"])
def test_a_device_does_only_what_it_may(home: FullKitchen, on: date, rights: str) -> None:
    """With its own token, so that nothing but its rights keeps it out."""
    child = home.ids["child"] if rights == "take" else None
    browser = device_named(home, rights, "kitchen", child)
    token = token_of(browser)
    before = home.stored()
    for route in ROUTES:
        allowed = route.rights is None or rights in route.rights
        if rights == "take":
            allowed = route.path in OF_A_CHILD
        if allowed and (route.method == "GET" or route.path in FORMS_OF_PACKERS):
            continue
        for address in list(route.addresses(home.all_ids, on))[:4]:
            answer = asked(browser, address) if route.method == "GET" else sent(browser, address, {"token": token})
            assert answer.status_code in (403, 404), (route, address)
            assert "x()" not in answer.text
    assert home.stored() == before


def test_a_childs_device_sees_its_child_only(home: FullKitchen, on: date) -> None:
    """No other child's page, whatever the method, the day or the offer asked for; and nothing of the JSON API."""
    other = home.children["second"]
    browser = device_named(home, "take", "kitchen", home.ids["child"])
    assert asked(browser, "/").headers["location"] == f"/take/{home.ids['child']}"
    before = home.stored()
    for query in ({}, {"day": on.isoformat()}, {"offer": home.ids["offer"]}):
        assert asked(browser, f"/take/{other}", **query).status_code == 404
    for path in (f"/take/{other}", f"/take/{other}/undo"):
        data = {"token": token_of(browser), "day": on.isoformat(), "offer": home.ids["offer"], "version": "1"}
        assert sent(browser, path, data).status_code == 404
    for path in ("/v1/children", "/v1/export", "/v1/foods/apple", "/v1/lunch-checks"):
        assert browser.client.get(path).status_code == 403
    page = asked(browser, f"/take/{home.ids['child']}").text
    assert other not in page
    assert f"2 {ATTACK[:8]}" not in page
    assert home.stored() == before


def test_ids_of_others_lead_nowhere(home: FullKitchen, neighbours: FullKitchen, on: date) -> None:
    """In addresses and queries, of every kind, of pages and forms; nothing of theirs is shown, nothing of theirs changes."""
    browser = device_named(home, "keep", "kitchen")
    token = token_of(browser)
    theirs, before = neighbours.all_ids, (home.stored(), neighbours.stored())
    for route in ROUTES:
        if route.path in OPEN_TO_ANYBODY | ENDLESS:
            continue
        if set(route.parameters) - DAYS - WEEKS or route.needed:
            for address in route.addresses(theirs, on):
                if route.method == "GET":
                    answer = asked(browser, address)
                    assert answer.status_code == 404, address
                else:
                    answer = sent(browser, address, {"token": token})
                    gone = answer.status_code == 303 and address.endswith(REMOVED)  # as what is removed already
                    assert gone or answer.status_code in (404, 422), address
                    assert not gone or not any(one in answer.headers["location"] for one in theirs), address
                assert FOREIGN not in answer.text, address
        if route.method == "GET":
            for address in list(route.addresses(home.all_ids, on))[:12] if route.query else ():
                there = asked(browser, address).status_code == 200
                some = theirs if there else theirs[:1]  # where nothing is, one of theirs is as good as another
                for name in route.query:
                    for one in some:
                        assert FOREIGN not in asked(browser, address, **{name: one}).text, (address, name)
    assert (home.stored(), neighbours.stored()) == before


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_days_at_the_ends_of_the_calendar_are_refused_or_answered(home: FullKitchen, day: str) -> None:
    """In the place of every day in an address, and of everything that a page can be asked for: never a fault of ours."""
    browser = device_named(home, "keep", "kitchen")
    for route in PAGES:
        if route.path in OPEN_TO_ANYBODY | ENDLESS or not (route.query or DAYS.intersection(route.parameters)):
            continue
        for address in list(route.addresses(home.all_ids, date.fromisoformat(day)))[:12]:
            for name in route.query or ("day",):
                assert asked(browser, address, **{name: day}).status_code in (200, 303, 404, 422), (address, name)


def test_forms_with_ids_of_others_change_nothing_of_theirs(
    home: FullKitchen, neighbours: FullKitchen, on: date
) -> None:
    """Every form there is, sent as it stands with another household's ids in the place of ours."""
    browser = device_named(home, "keep", "kitchen")
    before = neighbours.stored()
    ours = dict(zip(home.ids.values(), (neighbours.ids[kind] for kind in home.ids), strict=True))
    for form in forms_on(walked(browser, home, on)):
        if form.action in ("/sign-out", "/language") or FILES.match(form.action):
            continue
        data = {name: [_swapped(value, ours) for value in values] for name, values in form.data().items()}
        for address in {form.action, _swapped(form.action, ours)}:
            answer = sent(browser, address, data)
            assert FOREIGN not in answer.text, address
    assert neighbours.stored() == before
    stored = home.stored().decode()
    assert not [one for one in neighbours.all_ids if one in stored]


def _swapped(text: str, ids: dict[str, str]) -> str:
    for ours, theirs in ids.items():
        text = text.replace(ours, theirs)
    return text


def test_forms_without_their_token_or_from_elsewhere_change_nothing(home: FullKitchen, on: date) -> None:
    """Every form as it stands, and every address that takes one: without token, with a wrong one, with another device's,
    from another site, and as plain text.
    """
    browser = device_named(home, "keep", "kitchen")
    other = token_of(home.browser())
    own = token_of(browser)
    data_of = {form.action: form.data() for form in forms_on(walked(browser, home, on))}
    for route in FORMS:
        if not any(route_of(address, "POST") is route for address in data_of):
            data_of |= {address: {} for address in list(route.addresses(home.all_ids, on))[:2]}
    before = home.stored()
    for address, data in data_of.items():
        route = route_of(address, "POST")
        if route is None or route.path in OPEN_TO_ANYBODY:
            continue
        for token in ([], [""], ["0" * 64], [other]):
            answer = sent(browser, address, {**data, "token": token})
            assert answer.status_code == 403, (address, token)
        for headers in CROSS_SITE:
            answer = sent(browser, address, {**data, "token": [own]}, headers)
            assert answer.status_code == 403, (address, headers)
            assert "<form" not in answer.text.partition("<main")[2].partition("</main>")[0]
        plain = "&".join(f"{name}={value}" for name, values in {**data, "token": [own]}.items() for value in values)
        answer = browser.client.post(
            address, content=plain.encode(), headers={**OURS, "Content-Type": "text/plain"}, follow_redirects=False
        )
        assert answer.status_code == 403, address
    assert home.stored() == before


def test_signing_in_takes_no_form_of_another_site(home: FullKitchen) -> None:
    """Nobody is signed in to a household of somebody else's choice."""
    from service.jobs.household.access.sign_in_links import NewLink, make_link

    with home.store.writing() as connection:
        link = make_link(connection, home.id, NewLink(rights="keep"))
    visitor = Browser(TestClient(home.app()))
    for headers in CROSS_SITE:
        answer = sent(visitor, "/sign-in", {"link": link.secret}, headers)
        assert answer.status_code == 403
        assert "set-cookie" not in answer.headers
    assert sent(visitor, "/sign-in", {"link": link.secret}).status_code == 303
    for back in ("https://kitchen.example/", "//kitchen.example", "/\\kitchen.example", "javascript:x()"):
        assert sent(visitor, "/language", {"language": "en", "back": back}).headers["location"] == "/"


@pytest.mark.parametrize("rights", ["keep", "pack", "take"])
def test_every_page_shows_texts_as_texts_and_has_its_headers(home: FullKitchen, on: date, rights: str) -> None:
    """All pages that a device comes to, and what its forms are answered with, in a household full of attacks."""
    browser = device_named(home, rights, ATTACK, home.ids["child"] if rights == "take" else None)
    before = home.stored()
    pages = walked(browser, home, on)
    assert home.stored() == before  # a page that is only looked at changes nothing
    for address, answer in pages.items():
        looked_at(address, answer)
    if rights == "keep":
        reached = {
            route.path
            for address, one in pages.items()
            if one.status_code < 400 and (route := route_of(address, "GET"))
        }
        assert {one.path for one in PAGES} - NOT_PAGES - reached <= NEVER_FILLED
        assert sum(
            ATTACK.partition('"')[0].replace("<", "&lt;").replace(">", "&gt;") in one.text for one in pages.values()
        )
    for form in forms_on(pages):
        if FILES.match(form.action):
            continue
        for data in (form.data(), {name: [ATTACK] for name in form.data()}):
            answer = sent(browser, form.action, {**data, "token": [token_of(browser)]})
            if form.action == "/sign-out":
                browser = device_named(home, rights, ATTACK, home.ids["child"] if rights == "take" else None)
            looked_at(form.action, answer)
    for route in PAGES:
        for name in route.query:
            for address in list(route.addresses(home.all_ids, on))[:1]:
                if route.path not in NOT_PAGES:
                    looked_at(f"{address}?{name}=", asked(browser, address, **{name: ATTACK}))


def looked_at(address: str, answer: Any) -> None:
    """No page breaks, none runs or turns what was typed, and each carries its headers."""
    assert answer.status_code < 500, (address, answer.text[-500:])
    assert answer.headers["cache-control"] == "no-store", address
    assert answer.headers["x-content-type-options"] == "nosniff", address
    if not answer.headers.get("content-type", "").startswith("text/html"):
        return
    policy = answer.headers["content-security-policy"]
    for part in (
        "default-src 'self'",
        "object-src 'none'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    ):
        assert part in policy, (address, part)
    assert "unsafe" not in policy
    assert "*" not in policy
    assert answer.headers["referrer-policy"] in ("same-origin", "no-referrer"), address
    assert "<script>x()" not in answer.text, address
    assert not Looked(answer.text).wrong, (address, Looked(answer.text).wrong)


def test_records_stored_before_a_field_was_added_are_shown_as_if_it_were_left_out(home: FullKitchen) -> None:
    """As an older version stored them: without the fields that were at what they are when left out."""
    browser = device_named(home, "keep", "t")

    def listed() -> dict[str, Any]:
        with home.store.reading() as connection:
            return {name: list_records(connection, one, home.id, 200, None)["items"] for name, one in RESOURCES.items()}

    before = listed()
    with home.store.writing() as connection:
        for resource in RESOURCES.values():
            defaults = resource.kept_model.model_construct().model_dump(mode="json", by_alias=True, warnings=False)
            table = resource.kind.table
            for row in connection.execute(select(table.c.id, table.c.body)).all():
                body = {one: value for one, value in row.body.items() if one not in defaults or value != defaults[one]}
                connection.execute(update(table).where(table.c.id == row.id).values(body=body))
    assert listed() == before
    pages = [
        "/children",
        f"/children/{home.ids['child']}",
        "/prices",
        f"/prices/{home.ids['price']}",
        "/bought",
        "/week",
    ]
    assert [asked(browser, address).status_code for address in pages] == [200] * len(pages)
