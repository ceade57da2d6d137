"""Starts a server process of one worker, asks it over a socket, and measures it."""

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager

SERVED = "service.web.app:create_app"
"""What ``packed-lunch serve`` serves."""
API_ALONE = "service.api.app:create_app"


def as_installed() -> dict[str, str]:
    """The environment, with modules kept compiled as an installed package has them."""
    return {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}


def free_port() -> int:
    """A port nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def http_request(body: bytes) -> bytes:
    """A keep-alive POST of a lunch check."""
    return (
        b"POST /v1/lunch-checks HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\nContent-Length: "
        + str(len(body)).encode()
        + b"\r\n\r\n"
        + body
    )


def read_reply(connection: socket.socket) -> tuple[int, bytes]:
    """Status and body of one reply with a content length."""
    data = b""
    while b"\r\n\r\n" not in data:
        part = connection.recv(65536)
        if not part:
            raise ConnectionError("the server closed the connection")
        data += part
    head, _, rest = data.partition(b"\r\n\r\n")
    length = next(
        int(line.split(b":")[1]) for line in head.lower().split(b"\r\n") if line.startswith(b"content-length")
    )
    while len(rest) < length:
        rest += connection.recv(65536)
    return int(head.split(b" ", 2)[1]), rest


@contextmanager
def serving(app: str, port: int, more: Mapping[str, str] | None = None) -> Iterator[subprocess.Popen[bytes]]:
    """An app served by one uvicorn process."""
    command = [sys.executable, "-m", "uvicorn", app, "--port", str(port), "--log-level", "critical", "--no-access-log"]
    if app.endswith("create_app"):
        command.append("--factory")
    process = subprocess.Popen(command, env={**as_installed(), **(more or {})})
    try:
        yield process
    finally:
        process.terminate()
        process.wait()


def connect(port: int, seconds: float = 120.0) -> socket.socket:
    """A connection as soon as the server takes one."""
    until = time.perf_counter() + seconds
    while True:
        try:
            connection = socket.create_connection(("127.0.0.1", port))
            connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        except OSError:
            if time.perf_counter() > until:
                raise
            time.sleep(0.002)
        else:
            return connection


def requests_per_second(connection: socket.socket, request: bytes, seconds: float) -> float:
    """How many requests one connection gets answered a second."""
    count = 0
    began = time.perf_counter()
    while time.perf_counter() - began < seconds:
        for _ in range(20):
            connection.sendall(request)
            status, _body = read_reply(connection)
            if status != 200:
                raise RuntimeError(f"answered {status}: {_body[:300]!r}")
        count += 20
    return count / (time.perf_counter() - began)


def resident_mb(pid: int) -> float:
    """Resident memory of a process in MB (Linux)."""
    with open(f"/proc/{pid}/status", encoding="ascii") as status:
        line = next(line for line in status if line.startswith("VmRSS"))
    return int(line.split()[1]) / 1024
