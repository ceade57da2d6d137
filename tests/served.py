"""A real server process for the tests: started on a free port, asked over a socket, stopped, its output kept."""

import http.client
import os
import random
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
GENEROUS = 300.0
"""Seconds that a busy machine is given for what takes one or two; reached only where something hangs."""


class Server:
    """A running ``packed-lunch serve``; ``output`` and ``code`` are there once it has ended."""

    def __init__(self, port: int, process: "subprocess.Popen[bytes]") -> None:
        self.port = port
        self.process = process
        self.output = ""
        self.code: int | None = None

    def ask(
        self, method: str, path: str, body: bytes = b"", headers: Mapping[str, str] | None = None
    ) -> tuple[int, bytes]:
        """One request; status and body."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=GENEROUS)
        try:
            connection.request(method, path, body or None, {"Content-Type": "application/json", **(headers or {})})
            answer = connection.getresponse()
            return answer.status, answer.read()
        finally:
            connection.close()


def free_port() -> int:
    """A port nobody listens on, and which no outgoing connection is given: those are taken from 32768 on (Linux)."""
    while True:
        port = random.SystemRandom().randrange(10_000, 32_000)
        with socket.socket() as probe:
            try:
                probe.bind(("127.0.0.1", port))
            except OSError:
                continue
        return port


@contextmanager
def served(*options: str, **environment: str) -> Iterator[Server]:
    """Start, wait until it answers, and stop as Ctrl+C does; with a new store of its own unless one is given."""
    clean = {name: value for name, value in os.environ.items() if not name.startswith("PACKED_LUNCH_")}
    port = free_port()
    with tempfile.TemporaryFile() as printed, tempfile.TemporaryDirectory() as folder:
        environment.setdefault("PACKED_LUNCH_DATABASE_URL", f"sqlite:///{folder}/store.sqlite3")
        process = subprocess.Popen(
            [sys.executable, "-m", "service", "serve", "--port", str(port), *options],
            cwd=ROOT,
            env={**clean, **environment},
            stdout=printed,
            stderr=subprocess.STDOUT,
        )
        server = Server(port, process)
        try:
            _wait(server)
            yield server
        finally:
            process.send_signal(signal.SIGINT)
            try:
                server.code = process.wait(timeout=GENEROUS)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
                raise
            finally:
                printed.seek(0)
                server.output = printed.read().decode()


def _wait(server: Server, seconds: float = GENEROUS) -> None:
    until = time.monotonic() + seconds
    while True:
        try:
            assert server.ask("GET", "/v1/health")[0] == 200
        except OSError:
            if server.process.poll() is not None or time.monotonic() > until:
                raise
            time.sleep(0.02)
        else:
            return
