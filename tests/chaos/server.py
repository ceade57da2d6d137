"""Server processes that are killed and started again at once: forked from one that has everything loaded, their clock moved by libfaketime.

Run as ``python -m tests.chaos.server PORT URL``, it forks a server for every line on standard input, prints its number, and
waits until it is gone. As ``packed-lunch serve`` does, each server purges before it listens; one whose store cannot be opened
then serves all the same, so that what it answers is seen. Its processes end with the one that started it, however that ends.
"""

import contextlib
import ctypes
import http.client
import os
import signal
import subprocess
import sys
import tempfile
from contextlib import closing
from pathlib import Path
from typing import IO

from fastapi import FastAPI
from starlette.testclient import TestClient

from service.api.logs.lines import configure_logging
from service.cli.server.uvicorn_server import server_of
from service.domain.errors import AnyFault
from service.jobs.household.access.households import today
from service.jobs.household.retention.purging import purge
from service.settings import Settings
from service.store.migrate import open_store
from service.web.app import create_app
from tests.api.household.homes import new_home
from tests.chaos.family import new_family
from tests.served import ROOT

PAGES = ("/", "/week", "/packets", "/set-out", "/stock", "/care", "/more", "/children", "/foods")
"""Pages that are looked at."""
WITH_PARENT = 1
"""PR_SET_PDEATHSIG (prctl(2)): which signal a process gets when its parent ends."""


def end_with_parent() -> None:
    """Have this process killed when its parent ends (Linux; elsewhere nothing)."""
    if sys.platform == "linux":
        ctypes.CDLL(None, use_errno=True).prctl(WITH_PARENT, signal.SIGKILL)


def faketime_library() -> Path | None:
    """The library that moves a process's clock, for programs with threads; None where it is not installed."""
    return next(iter(Path("/usr/lib").glob("*/faketime/libfaketimeMT.so.1")), None)


class Servers:
    """Starts and kills servers of a store on a port; ``log``: what they wrote to standard error."""

    def __init__(self, port: int, url: str, log: IO[bytes], clock: Path) -> None:
        self.port, self.log, self.clock = port, log, clock
        clean = {name: value for name, value in os.environ.items() if not name.startswith("PACKED_LUNCH_")}
        library = faketime_library()
        if library is not None:
            clock.write_text("+0\n")
            clean |= {
                "LD_PRELOAD": str(library), "FAKETIME_TIMESTAMP_FILE": str(clock), "FAKETIME_CACHE_DURATION": "1",
                "FAKETIME_DONT_FAKE_MONOTONIC": "1", "DONT_FAKE_MONOTONIC": "1", "NO_FAKE_STAT": "1",
            }  # fmt: skip
        self.forker = subprocess.Popen(
            [sys.executable, "-m", "tests.chaos.server", str(port), url],
            cwd=ROOT, env=clean, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=log, text=True, bufsize=1, preexec_fn=end_with_parent,  # noqa: PLW1509 - one call of the system
        )  # fmt: skip
        assert self._line() == "ready"
        self.server = 0

    def _line(self) -> str:
        assert self.forker.stdout is not None
        return self.forker.stdout.readline().strip()

    def start(self) -> None:
        """Start one."""
        print("serve", file=self.forker.stdin)
        self.server = int(self._line())

    def answers(self) -> bool:
        """Whether it listens and answers."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=5)
        try:
            connection.request("GET", "/v1/health")
            return connection.getresponse().status == 200
        except (OSError, http.client.HTTPException):
            return False
        finally:
            connection.close()

    def runs(self) -> bool:
        """Whether it is still there."""
        try:
            os.kill(self.server, 0)
        except ProcessLookupError:
            return False
        return True

    def kill(self) -> None:
        """Kill it as a power cut would."""
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.server, signal.SIGKILL)

    def close(self) -> None:
        """End everything."""
        if self.server:
            self.kill()
        assert self.forker.stdin is not None
        self.forker.stdin.close()
        try:
            self.forker.wait(timeout=20)
        except subprocess.TimeoutExpired:
            self.forker.kill()
            self.forker.wait()
        assert self.forker.stdout is not None
        self.forker.stdout.close()


def warm_up() -> None:
    """Load all that writing and looking load, in a store of no further use: a busy machine takes a minute for it, once."""
    with tempfile.TemporaryDirectory() as folder:
        url = f"sqlite:///{folder}/warm.sqlite3"
        family = new_family(url, 0)
        with (
            closing(open_store(url)) as store,
            TestClient(create_app(Settings(database_url=url)), base_url="http://localhost") as client,
        ):
            home = new_home(client, store)
            child = home.fill()["children"]
            home.ask("PATCH", f"/v1/children/{child}", {"dislikes": []}, if_match="*")
            home.ask("GET", "/v1/export")
            for page in PAGES:
                client.get(page, headers=family.device.headers)


def _serve(app: FastAPI, chosen: Settings) -> None:
    end_with_parent()
    configure_logging(chosen.log_level, chosen.log_format, tracebacks=chosen.tracebacks)
    try:
        with closing(open_store(chosen.database_url)) as store:
            purge(store, today())
    except AnyFault as fault:
        print(f"not purged: {fault.code}", file=sys.stderr, flush=True)
    server_of(app, chosen).run()


def main(port: int, url: str) -> None:
    """Fork a server for every line."""
    warm_up()
    chosen = Settings(database_url=url, port=port)
    app = create_app(chosen)
    print("ready", flush=True)
    for _ in sys.stdin:
        child = os.fork()
        if child == 0:
            try:
                _serve(app, chosen)
            finally:
                os._exit(1)
        print(child, flush=True)
        os.waitpid(child, 0)


if __name__ == "__main__":
    main(int(sys.argv[1]), sys.argv[2])
