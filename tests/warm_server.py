"""Starts real server processes fast: loads the service once, then forks a process for each server that is asked for.

``WarmServers`` starts it as ``python -m tests.warm_server`` and talks to it by lines: ``serve PORT URL`` is answered with the
number of a new process that does what ``packed-lunch serve`` does, ``wait NUMBER`` with its exit code once it has ended.
"""

import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from types import TracebackType
from typing import Self

from service.cli.serve import run_server
from service.jobs.household.access.households import today
from service.store.migrate import open_store
from tests.served import GENEROUS, ROOT, free_port, until_it_answers
from tests.web.kitchens import demo_kitchen

WARMED = ("/", "/week", "/children", "/foods", "/set-out", "/plans")


class WarmServers:
    """Servers of this run, each in a process of its own; ended with the block."""

    def __enter__(self) -> Self:
        """Start what forks them, and wait until it has loaded the service."""
        clean = {name: value for name, value in os.environ.items() if not name.startswith("PACKED_LUNCH_")}
        clean["PACKED_LUNCH_LOG_LEVEL"] = "critical"  # some of them are killed in the middle of their work
        self.forker = subprocess.Popen(
            [sys.executable, "-m", "tests.warm_server"],
            cwd=ROOT, env=clean, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, bufsize=1,
        )  # fmt: skip
        assert self._answer() == "ready"
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, where: TracebackType | None
    ) -> None:
        """End the forker, which kills what still runs."""
        assert self.forker.stdin is not None
        assert self.forker.stdout is not None
        self.forker.stdin.close()
        self.forker.wait()
        self.forker.stdout.close()

    def _answer(self) -> str:
        assert self.forker.stdout is not None
        return self.forker.stdout.readline().rstrip("\n")

    def _ask(self, line: str) -> int:
        print(line, file=self.forker.stdin)
        return int(self._answer())

    def serve(self, port: int, url: str) -> int:
        """Start a server of the store at an address; the number of its process, which may not listen yet."""
        return self._ask(f"serve {port} {url}")

    def end(self, process: int, number: signal.Signals) -> int:
        """Send a server a signal and wait until it is gone; its exit code."""
        os.kill(process, number)
        return self._ask(f"wait {process}")

    @contextmanager
    def serving(self, url: str) -> Iterator[int]:
        """A server of the store at an address, until the block ends; the port on which it answers."""
        port = free_port()
        process = self.serve(port, url)
        try:
            until_it_answers(port)
            yield port
        finally:
            code = self.end(process, signal.SIGINT)
        assert code != -signal.SIGKILL, "the server did not stop"


def warm_up() -> None:
    """Load what pages and a logged lunch need, with the invented family in a store of no further use."""
    with tempfile.TemporaryDirectory() as folder:
        url = f"sqlite:///{Path(folder) / 'warm.sqlite3'}"
        with closing(open_store(url)) as store, closing(demo_kitchen(store, url, today())) as kitchen:
            browser = kitchen.browser()
            for address in WARMED:
                browser.client.get(address, headers={"Accept": "text/html"}).raise_for_status()


def serve(port: int, url: str) -> None:
    """What ``packed-lunch serve`` does, in a process that was just forked; what it prints would be read as an answer."""
    nowhere = os.open(os.devnull, os.O_RDWR)
    for one in (0, 1):
        os.dup2(nowhere, one)
    os.environ["PACKED_LUNCH_DATABASE_URL"] = url
    run_server(None, port)


def code_of(process: int) -> int:
    """Wait until a server is gone, and kill one that does not stop; its exit code."""
    until = time.monotonic() + GENEROUS
    while True:
        gone, status = os.waitpid(process, os.WNOHANG)
        if gone:
            return os.waitstatus_to_exitcode(status)
        if time.monotonic() > until:
            os.kill(process, signal.SIGKILL)
        time.sleep(0.01)


def main() -> None:
    """Fork and wait as the lines say."""
    warm_up()
    print("ready", flush=True)
    running: set[int] = set()
    for line in sys.stdin:
        match line.split():
            case "serve", port, url:
                process = os.fork()
                if process == 0:
                    serve(int(port), url)
                    return
                running.add(process)
                print(process, flush=True)
            case "wait", process:
                running.discard(int(process))
                print(code_of(int(process)), flush=True)
    for process in running:  # of a test that failed
        os.kill(process, signal.SIGKILL)


if __name__ == "__main__":
    main()
