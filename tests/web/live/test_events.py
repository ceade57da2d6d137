"""Promise: open pages hear of changes within two seconds, never what changed; and they keep nobody from stopping the service."""

import http.client
import time
from pathlib import Path

import pytest

from service.jobs.household.access.devices import sign_out_all
from service.jobs.household.access.households import today
from service.jobs.household.access.sign_in_links import NewLink, make_link, redeem
from service.store.database import Store
from service.store.migrate import open_store
from service.web.live.routes import MOST_OF_HOUSEHOLD, MOST_STREAMS
from tests.served import GENEROUS, Server, served
from tests.web.kitchens import Kitchen, demo_kitchen


@pytest.fixture
def home(tmp_path: Path) -> Kitchen:
    """The invented family in a file of its own."""
    url = f"sqlite:///{tmp_path / 'store.sqlite3'}"
    return demo_kitchen(open_store(url), url, today())


def cookie_of(kitchen: Kitchen, rights: str = "keep", child: str | None = None) -> dict[str, str]:
    store: Store = kitchen.store
    with store.writing() as connection:
        link = make_link(connection, kitchen.id, NewLink.model_validate({"rights": rights, "child": child}))
    made = redeem(store, link.secret)
    assert made is not None
    return {"Cookie": f"packed_lunch_device={made.secret}"}


class Stream:
    """An open ``/events``."""

    def __init__(self, server: Server, cookie: dict[str, str]) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=GENEROUS)
        self.connection.request("GET", "/events", headers=cookie)
        self.answer = self.connection.getresponse()

    def next_mark(self) -> str:
        """The next event's data."""
        while line := self.answer.readline():
            assert line in (b"event: mark\n", b": still here\n", b"\n") or line.startswith(b"data: ")
            if line.startswith(b"data: "):
                return line.decode().removeprefix("data: ").strip()
        return ""

    def rest(self) -> bytes:
        """All until the service ends it."""
        return self.answer.read()


def test_a_change_is_heard_of_within_two_seconds_and_only_as_a_mark(home: Kitchen) -> None:
    """By a child's device too: sixteen hexadecimal digits that say nothing of what it was."""
    rowan = home.children["Rowan"]
    with served(PACKED_LUNCH_DATABASE_URL=home.url) as server:
        streams = [Stream(server, cookie_of(home)), Stream(server, cookie_of(home, "take", rowan))]
        before = [one.next_mark() for one in streams]
        begun = time.monotonic()
        home.keep("foods", {"name": "Zebulonia", "serving": {"grams": 30}, "facts": {"energy_kcal": 100}})
        after = [one.next_mark() for one in streams]
        assert time.monotonic() - begun < 2 * 5  # two seconds, and as much again and more for a busy machine
        assert all(len(mark) == 16 and int(mark, 16) >= 0 for mark in (*before, *after))
        assert after[0] == after[1] != before[0]
        for one in streams:
            one.connection.close()
    home.store.close()


def test_the_service_stops_within_seconds_while_pages_are_open(home: Kitchen) -> None:
    with served(PACKED_LUNCH_DATABASE_URL=home.url) as server:
        streams = [Stream(server, cookie_of(home)) for _device in range(4)]
        for one in streams:
            one.next_mark()
        begun = time.monotonic()
    took = time.monotonic() - begun
    assert took < 30, server.output  # without an end it would be ten minutes
    assert server.code in (0, 130, -2), server.output
    assert "Traceback" not in server.output
    assert "Cancel" not in server.output
    for one in streams:
        one.rest()
        one.connection.close()
    home.store.close()


def test_a_device_has_so_many_streams_and_not_more(home: Kitchen) -> None:
    """Others still have theirs; one that is closed makes room."""
    cookie = cookie_of(home)
    with served(PACKED_LUNCH_DATABASE_URL=home.url) as server:
        streams = [Stream(server, cookie) for _n in range(MOST_STREAMS)]
        for one in streams:
            one.next_mark()
        status, body = server.ask("GET", "/events", headers=cookie)
        assert status == 429, body
        other = Stream(server, cookie_of(home))
        assert other.answer.status == 200
        streams[0].connection.sock.close()
        streams[0].answer.close()
        until = time.monotonic() + GENEROUS
        while (again := Stream(server, cookie)).answer.status == 429 and time.monotonic() < until:
            again.connection.close()
            time.sleep(0.2)
        assert again.answer.status == 200
        for one in (*streams, other, again):
            one.answer.close()
            one.connection.close()
    home.store.close()


def test_a_stream_ends_when_the_device_is_signed_out(home: Kitchen) -> None:
    with served(PACKED_LUNCH_DATABASE_URL=home.url) as server:
        stream = Stream(server, cookie_of(home))
        stream.next_mark()
        with home.store.writing() as connection:
            sign_out_all(connection, home.id)
        begun = time.monotonic()
        stream.rest()
        assert time.monotonic() - begun < GENEROUS
        stream.connection.close()
    home.store.close()


def test_a_household_has_so_many_streams_and_its_pages_are_answered(home: Kitchen) -> None:
    """Of all its devices together; one more is told when to come again."""
    devices = [cookie_of(home) for _n in range(MOST_OF_HOUSEHOLD // MOST_STREAMS)]
    with served(PACKED_LUNCH_DATABASE_URL=home.url) as server:
        streams = [Stream(server, cookie) for cookie in devices for _n in range(MOST_STREAMS)]
        for one in streams:
            assert one.next_mark()
        one_more = Stream(server, cookie_of(home))
        assert (one_more.answer.status, one_more.answer.headers["retry-after"]) == (429, "60")
        assert "Wait" in one_more.rest().decode()
        assert server.ask("GET", "/", headers=devices[0])[0] == 200
        for one in (*streams, one_more):
            one.answer.close()
            one.connection.close()
    home.store.close()
