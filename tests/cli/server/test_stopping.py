"""Promise: Ctrl+C and SIGTERM end a server that is flooded within its time, whatever is being worked on, and nothing is left behind."""

import json
import os
import signal
import socket
import subprocess
import sys
import time
from contextlib import ExitStack
from pathlib import Path

import pytest

from tests.api.clients import LUNCH
from tests.served import GENEROUS, ROOT, free_port

IDLE, HALF, AT_WORK = 60, 20, 4
WORKS_S = 120
ENDS_WITHIN_S = 30
"""The goodbye of the stand-in takes half a second; the rest is for a busy machine, and far from ``WORKS_S``."""
SERVER = f"""
import sys, time
from service.api.lunch import routes
from service.cli import main, serve
serve.LONGEST_GOODBYE_S = 0.5
routes.check_lunch = lambda asked: time.sleep({WORKS_S})
sys.argv = ["packed-lunch", "serve", "--demo", "--port", sys.argv[1]]
main.main()
"""
BODY = json.dumps(LUNCH).encode()
HEAD = (
    b"POST /v1/lunch-checks HTTP/1.1\r\nHost: 127.0.0.1\r\nAccept: application/ld+json\r\nContent-Type: application/json\r\n"
    b"Content-Length: %d\r\n\r\n" % len(BODY)
)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_flooded_server_ends_in_time(number: signal.Signals, tmp_path: Path) -> None:
    """Checks that take two minutes are left undone; the demo's store is removed."""
    port = free_port()
    process = subprocess.Popen(
        [sys.executable, "-c", SERVER, str(port)],
        cwd=ROOT,
        env={**os.environ, "TMPDIR": str(tmp_path)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        with ExitStack() as crowd:
            _wait(port)
            for sent in (*[b""] * IDLE, *[HEAD + BODY[:1]] * HALF, *[HEAD + BODY] * AT_WORK):
                crowd.enter_context(_connected(port)).sendall(sent)
            time.sleep(0.5)
            assert list(tmp_path.iterdir())
            process.send_signal(number)
            assert process.wait(ENDS_WITHIN_S) == 0
    finally:
        process.kill()
        process.wait()
    assert not list(tmp_path.iterdir())


def _connected(port: int) -> socket.socket:
    return socket.create_connection(("127.0.0.1", port), timeout=GENEROUS)


def _wait(port: int) -> None:
    until = time.monotonic() + GENEROUS
    while True:
        try:
            _connected(port).close()
        except OSError:
            if time.monotonic() > until:
                raise
            time.sleep(0.05)
        else:
            return
