"""Promise: over TLS the limits hold from the first moment of a connection, and requests are answered as without."""

import os
import socket
import ssl
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, suppress
from pathlib import Path

import pytest

from service.cli.serve import Tls
from service.cli.server.listening import HANDSHAKE_S
from tests.served import GENEROUS, ROOT, free_port

FEW = 20
ASKED = b"GET /v1/health HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n"


@pytest.fixture(scope="module")
def port(certificate: Tls, tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    """Where a server listens that speaks TLS and lets in few connections of one address."""
    port, folder = free_port(), tmp_path_factory.mktemp("store")
    process = subprocess.Popen(
        [sys.executable, "-m", "service", "serve", "--port", str(port), "--tls-cert", str(certificate.cert), "--tls-key", str(certificate.key)],
        cwd=ROOT, stdout=subprocess.DEVNULL,
        env={**os.environ, "PACKED_LUNCH_DATABASE_URL": f"sqlite:///{folder / 'store.sqlite3'}", "PACKED_LUNCH_CONNECTIONS_OF_ONE_ADDRESS": str(FEW)},
    )  # fmt: skip
    try:
        until = time.monotonic() + GENEROUS
        while time.monotonic() < until:
            with suppress(OSError):
                connected(port).close()
                break
            time.sleep(0.05)
        yield port
    finally:
        process.terminate()
        process.wait(GENEROUS)


def connected(port: int) -> socket.socket:
    """A connection on which nothing was sent."""
    return socket.create_connection(("127.0.0.1", port), timeout=GENEROUS)


def answer_over_tls(port: int, cert: Path) -> bytes:
    """What a client is answered that trusts the certificate, whole."""
    context = ssl.create_default_context(cafile=str(cert))
    with context.wrap_socket(connected(port), server_hostname="127.0.0.1") as client:
        client.sendall(ASKED)
        parts = []
        while part := client.recv(65_536):
            parts.append(part)
    return b"".join(parts)


def test_handshakes_are_counted_and_keep_nobody_out(port: int, certificate: Tls) -> None:
    """Three times as many as there may be of one address: the first are closed long before their time, and a request is answered."""
    with ExitStack() as kept:
        crowd = [kept.enter_context(connected(port)) for _ in range(3 * FEW)]
        assert answer_over_tls(port, certificate.cert).startswith(b"HTTP/1.1 200 ")
        for one in crowd[: 2 * FEW]:
            one.settimeout(HANDSHAKE_S / 2)
            with suppress(ConnectionResetError):
                assert one.recv(1) == b""


def test_a_request_may_come_with_the_end_of_the_handshake(port: int) -> None:
    """In one packet: nothing of it is lost."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
    came, to_send = ssl.MemoryBIO(), ssl.MemoryBIO()
    client = context.wrap_bio(came, to_send)
    with connected(port) as connection:
        while True:
            try:
                client.do_handshake()
                break
            except ssl.SSLWantReadError:
                connection.sendall(to_send.read())
                came.write(connection.recv(65_536))
        client.write(ASKED)
        connection.sendall(to_send.read())
        answered = b""
        while b"HTTP/1.1 200 " not in answered:
            part = connection.recv(65_536)
            assert part, answered
            came.write(part)
            with suppress(ssl.SSLWantReadError):
                answered += client.read(65_536)


def test_what_is_no_tls_is_closed(port: int) -> None:
    """Nothing of HTTP is answered without it."""
    with connected(port) as connection:
        connection.sendall(ASKED)
        with suppress(ConnectionResetError):
            assert b"HTTP" not in connection.recv(65_536)
