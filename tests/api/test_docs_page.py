"""Promise: the documentation page works without the internet; all it needs is served from here."""

import re
from html.parser import HTMLParser

import pytest
from starlette.testclient import TestClient

TYPES = {"link": "text/css; charset=utf-8", "script": "text/javascript; charset=utf-8"}


class Page(HTMLParser):
    """What a page loads, and what of it is script inside the page."""

    def __init__(self) -> None:
        super().__init__()
        self.loaded: list[tuple[str, str]] = []
        self.inline: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note addresses and inline script."""
        given = dict(attrs)
        self.inline += [name for name in given if name.startswith("on")]
        if tag == "script" and "src" not in given:
            self.inline.append("script")
        address = given.get("src") or given.get("href")
        if address and tag != "a":
            self.loaded.append((tag, address))


@pytest.fixture(scope="module")
def page(service: TestClient) -> Page:
    """The page, read."""
    answer = service.get("/docs")
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    assert not re.search(r"https?:|//[a-z]", answer.text)
    read = Page()
    read.feed(answer.text)
    return read


def test_the_page_loads_only_what_is_here(service: TestClient, page: Page) -> None:
    """Every address of the page is answered, with the type its element needs."""
    assert {tag for tag, _address in page.loaded} == {"link", "script"}
    for tag, address in page.loaded:
        if address == "data:,":  # no icon; nothing is asked for
            continue
        assert address.startswith("/docs/assets/")
        answer = service.get(address)
        assert answer.status_code == 200, address
        assert answer.headers["content-type"] == TYPES[tag]
        assert answer.content


def test_no_script_stands_in_the_page(page: Page) -> None:
    """The policy of the page would stop it."""
    assert page.inline == []


def test_the_style_loads_nothing_from_elsewhere(service: TestClient) -> None:
    """Each ``url()`` of the style is data within it or an address of this host; nothing is imported."""
    style = service.get("/docs/assets/swagger-ui.css").text
    addresses = re.findall(r"url\(\s*['\"]?([^)'\"]+)", style)
    assert addresses
    assert [one for one in addresses if not one.startswith(("data:", "#", "/docs/"))] == []
    assert "@import" not in style


def test_the_script_shows_the_document_of_this_host(service: TestClient) -> None:
    """The viewer is told the address of the document and to ask nobody whether it is valid."""
    script = service.get("/docs/assets/show.js").text
    assert 'url: "/openapi.json"' in script
    assert "validatorUrl: null" in script
    assert not re.search(r"https?:", script)
    assert service.get("/openapi.json").status_code == 200


def test_the_licence_of_the_viewer_is_served(service: TestClient) -> None:
    """The viewer is Apache-2.0: the licence goes with it."""
    assert "Apache License" in service.get("/docs/assets/LICENSE").text
    assert service.get("/docs/assets/swagger-ui-bundle.js.LICENSE.txt").status_code == 200


@pytest.mark.parametrize(
    "address", ["/openapi.json", "/docs/assets/swagger-ui-bundle.js", "/docs/assets/swagger-ui.css"]
)
def test_what_is_large_is_compressed_and_sent_once(service: TestClient, address: str) -> None:
    """Compressed where the browser can read that; asked again with its ETag, nothing is sent (RFC 9110, 304)."""
    answer = service.get(address, headers={"Accept-Encoding": "gzip"})
    assert answer.headers["content-encoding"] == "gzip"
    assert int(answer.headers["content-length"]) < len(answer.content) / 3
    assert "max-age" in answer.headers["cache-control"]
    again = service.get(address, headers={"If-None-Match": answer.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
