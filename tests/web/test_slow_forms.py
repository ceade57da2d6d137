"""Promise: a form or a photograph that does not come in time is answered 408 with a page in the person's language."""

import socket
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import NamedTuple

import pytest

from service.jobs.household.access.sign_in_links import NewLink, make_link, redeem
from service.store.migrate import open_store
from service.web.language.chosen import text
from tests.served import GENEROUS, Server, served
from tests.web.kitchens import empty_kitchen

FORM = "application/x-www-form-urlencoded", b"token=0&name=pear"
PHOTOGRAPH = (
    "multipart/form-data; boundary=here",
    b'--here\r\nContent-Disposition: form-data; name="photo"; filename="a.jpg"\r\nContent-Type: image/jpeg\r\n\r\n\xff\xd8\xff',
)


class Home(NamedTuple):
    """A server and the cookie of a device that is signed in there."""

    server: Server
    cookie: str


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Home]:
    """A server that waits for a body for half a second."""
    folder: Path = tmp_path_factory.mktemp("store")
    url = f"sqlite:///{folder / 'store.sqlite3'}"
    with closing(open_store(url)) as store:
        kitchen = empty_kitchen(store, url)
        with store.writing() as connection:
            link = make_link(connection, kitchen.id, NewLink.model_validate({"rights": "keep"}))
        made = redeem(store, link.secret)
        assert made is not None
    with served(PACKED_LUNCH_DATABASE_URL=url, PACKED_LUNCH_BODY_SECONDS="0.5") as server:
        yield Home(server, f"packed_lunch_device={made.secret}")


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize(
    ("address", "sent"),
    [
        ("/foods/new", FORM),
        ("/packets/00000000-0000-0000-0000-000000000000/photo", PHOTOGRAPH),
        ("/care/import", PHOTOGRAPH),
    ],
)
def test_a_form_that_does_not_come_is_told_so(home: Home, language: str, address: str, sent: tuple[str, bytes]) -> None:
    """What is missing is not waited for, and the connection closed (RFC 9110 section 15.5.9)."""
    kind, begun = sent
    head = (
        f"POST {address} HTTP/1.1\r\nHost: 127.0.0.1\r\nCookie: {home.cookie}\r\nSec-Fetch-Site: same-origin\r\n"
        f"Accept: text/html\r\nAccept-Language: {language}\r\nContent-Type: {kind}\r\nContent-Length: 100000\r\n\r\n"
    )
    with socket.create_connection(("127.0.0.1", home.server.port), timeout=GENEROUS) as connection:
        connection.sendall(head.encode() + begun)
        parts = []
        while part := connection.recv(65_536):
            parts.append(part)
    answer, _, page = b"".join(parts).decode().partition("\r\n\r\n")
    assert answer.startswith("HTTP/1.1 408 "), answer
    assert "connection: close" in answer
    assert f'<html lang="{language}"' in page
    assert text("problem.slow-title", language) in page
    assert text("problem.slow", language) in page
