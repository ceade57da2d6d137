"""Promise: whoever holds connections open, sends slowly or does not read is let go, and others are answered meanwhile."""

import json
import socket
import time
from collections.abc import Iterator
from contextlib import suppress

import pytest

from tests.served import Server, served

FEW = 20
SECONDS = 1.0
PATIENT = 60.0
"""Seconds that a busy machine is given for what takes one."""


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    """A server with small limits."""
    with served(
        PACKED_LUNCH_HEAD_SECONDS=str(SECONDS),
        PACKED_LUNCH_BODY_SECONDS=str(SECONDS),
        PACKED_LUNCH_SEND_SECONDS=str(SECONDS),
        PACKED_LUNCH_CONNECTIONS_OF_ONE_ADDRESS=str(FEW),
        PACKED_LUNCH_LOG_LINES_PER_MINUTE="3",
    ) as running:
        yield running


def connected(server: Server, sent: bytes = b"") -> socket.socket:
    """A connection on which something was sent."""
    connection = socket.create_connection(("127.0.0.1", server.port), timeout=PATIENT)
    connection.sendall(sent)
    return connection


def all_of(connection: socket.socket) -> bytes:
    """What comes until the server closes."""
    parts = []
    try:
        while part := connection.recv(65_536):
            parts.append(part)
    except ConnectionResetError:
        pass
    return b"".join(parts)


@pytest.mark.parametrize("sent", [b"", b"GET / HTTP/1.1\r\nHost: 127"])
def test_a_head_that_does_not_come_ends_the_connection(server: Server, sent: bytes) -> None:
    """Neither silence nor half a head is waited for longer than the setting says."""
    began = time.monotonic()
    with connected(server, sent) as connection:
        assert all_of(connection) == b""
    assert time.monotonic() - began >= SECONDS * 0.9


def test_a_head_that_trickles_after_an_answer_ends_too(server: Server) -> None:
    """A byte now and then does not keep a connection open."""
    with connected(server, b"GET /v1/health HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n") as connection:
        assert connection.recv(65_536).startswith(b"HTTP/1.1 200")
        began = time.monotonic()
        with suppress(OSError):
            while time.monotonic() - began < PATIENT:
                connection.sendall(b"G")
                time.sleep(0.3)
        assert time.monotonic() - began < PATIENT


def test_a_slow_body_is_408_as_a_problem_and_the_connection_closed(server: Server) -> None:
    """RFC 9110 section 15.5.9: the server closes the connection, and says so."""
    head = (
        b"POST /v1/lunch-checks HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\nContent-Length: 99\r\n"
    )
    with connected(server, head + b"\r\n{") as connection:
        answer, _, body = all_of(connection).partition(b"\r\n\r\n")
    assert answer.startswith(b"HTTP/1.1 408 ")
    assert b"connection: close" in answer
    assert b"content-type: application/problem+json" in answer
    told = json.loads(body)
    assert (told["type"], told["status"], told["params"]) == ("/problems/body-too-slow", 408, {"number": 1})


def test_a_body_that_comes_steadily_is_waited_for(server: Server) -> None:
    """Each byte that comes gives more time, by the lowest rate: a long body is not cut off after the first seconds."""
    body = b" " * 60_000 + b"{}"
    head = (
        "POST /v1/lunch-checks HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\nConnection: close\r\n"
    )
    with connected(server, f"{head}Content-Length: {len(body)}\r\n\r\n".encode()) as connection:
        for place in range(0, len(body), 20_000):
            connection.sendall(body[place : place + 20_000])
            time.sleep(0.5)
        assert all_of(connection).startswith(b"HTTP/1.1 422 ")


def test_a_crowd_of_one_address_keeps_nobody_out(server: Server) -> None:
    """The connections that waited longest go; a new one is answered."""
    crowd = [connected(server) for _ in range(3 * FEW)]
    assert server.ask("GET", "/v1/health")[0] == 200
    for connection in crowd[:FEW]:
        assert all_of(connection) == b""
    for connection in crowd:
        connection.close()


def test_a_reader_that_does_not_read_is_let_go(server: Server) -> None:
    """Many answers asked for on one connection, none read: the connection ends, though it never rests."""
    asked = b"GET /openapi.json HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n" * 200
    with socket.socket() as connection:
        connection.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4_096)
        connection.settimeout(PATIENT)
        connection.connect(("127.0.0.1", server.port))
        connection.sendall(asked)
        connection.recv(1)
        time.sleep(SECONDS * 5)
        answers = all_of(connection).count(b"HTTP/1.1 200")
    assert 0 < answers < 200


def test_the_log_is_bounded() -> None:
    """Hundreds of requests that are no HTTP make a few lines."""
    with served(PACKED_LUNCH_LOG_LINES_PER_MINUTE="3") as server:
        for _ in range(200):
            with connected(server, b"no such thing\r\n\r\n") as connection:
                all_of(connection)
    assert 1 <= server.output.count("Invalid HTTP request") <= 3 * 3  # a slow machine may need some minutes
