"""A real server process for the tests: started on a free port, asked over a socket, stopped, its output kept."""

import http.client
import os
import random
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import BinaryIO

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


def served(*options: str, **environment: str) -> AbstractContextManager[Server]:
    """Start, wait until it answers, and stop as Ctrl+C does; with a new store of its own unless one is given.

    What it prints goes to a file, as a service's output goes to a log.
    """
    return _served(options, environment, at_terminal=False)


def served_at_terminal(*options: str, **environment: str) -> AbstractContextManager[Server]:
    """The same as a person starts it: what it prints goes to a terminal (a pseudo-terminal)."""
    return _served(options, environment, at_terminal=True)


@contextmanager
def _served(options: tuple[str, ...], environment: dict[str, str], *, at_terminal: bool) -> Iterator[Server]:
    clean = {name: value for name, value in os.environ.items() if not name.startswith("PACKED_LUNCH_")}
    port = free_port()
    with tempfile.TemporaryFile() as printed, _terminal(printed) as terminal, tempfile.TemporaryDirectory() as folder:
        environment.setdefault("PACKED_LUNCH_DATABASE_URL", f"sqlite:///{folder}/store.sqlite3")
        process = subprocess.Popen(
            [sys.executable, "-m", "service", "serve", "--port", str(port), *options],
            cwd=ROOT,
            env={**clean, **environment},
            stdout=terminal if at_terminal else printed,
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
                if at_terminal:
                    terminal.close()
                    terminal.drained.join(GENEROUS)
                printed.seek(0)
                server.output = printed.read().decode().replace("\r\n", "\n")


class _Terminal:
    """The end of a pseudo-terminal that a program writes to; a thread puts what comes out into a file."""

    def __init__(self, into: BinaryIO) -> None:
        import pty  # not on Windows

        self._master, self._slave = pty.openpty()
        self.drained = threading.Thread(target=self._drain, args=(into,), daemon=True)
        self.drained.start()

    def fileno(self) -> int:
        """What a process is given as its output."""
        return self._slave

    def close(self) -> None:
        """Nobody here writes to it any more."""
        if self._slave >= 0:
            os.close(self._slave)
            self._slave = -1

    def _drain(self, into: BinaryIO) -> None:
        while True:
            try:
                part = os.read(self._master, 65536)
            except OSError:  # Linux: nobody has the other end any more
                part = b""
            if not part:
                os.close(self._master)
                return
            into.write(part)


@contextmanager
def _terminal(into: BinaryIO) -> Iterator[_Terminal]:
    terminal = _Terminal(into)
    try:
        yield terminal
    finally:
        terminal.close()
        terminal.drained.join(GENEROUS)


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
