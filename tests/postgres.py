"""A real PostgreSQL server for the tests: made in a folder of its own, started, asked over a socket, taken away.

It is started where PostgreSQL's programs are installed (``apt-get install postgresql``); elsewhere the tests that need it
are skipped and say so. The server refuses to run as root, so as root it is started as the user ``postgres``.
"""

import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest

from tests.served import GENEROUS, free_port

PLACES = ("/usr/lib/postgresql/*/bin", "/usr/pgsql-*/bin", "/opt/homebrew/opt/postgresql*/bin")
ROOT_IS_REFUSED = "postgres"
"""The user a server is run as where the tests run as root."""


def programs() -> Path | None:
    """The folder with initdb and postgres of the newest PostgreSQL installed."""
    on_path = shutil.which("initdb")
    if on_path is not None:
        return Path(on_path).resolve().parent
    found = [folder for place in PLACES for folder in Path("/").glob(place[1:]) if (folder / "initdb").exists()]
    return max(
        found,
        key=lambda folder: [int(part) for part in folder.parent.name.split("-") if part.isdigit()] or [0],
        default=None,
    )


def _user() -> str | None:
    if os.geteuid() != 0:
        return None
    try:
        return pwd.getpwnam(ROOT_IS_REFUSED).pw_name
    except KeyError:
        pytest.skip("PostgreSQL does not run as root, and there is no user 'postgres' to run it as")


class PostgresServer:
    """A server in a folder of its own; ``kill`` and ``start`` may follow each other."""

    def __init__(self, folder: Path, bin_folder: Path, user: str | None, durable: bool) -> None:
        self.folder, self.bin_folder, self.user, self.durable = folder, bin_folder, user, durable
        self.port = free_port()
        self.process: subprocess.Popen[bytes] | None = None
        self._made = 0

    def _run(self, *command: str) -> None:
        done = subprocess.run(command, user=self.user, cwd=self.folder, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stdout + done.stderr

    def make(self) -> None:
        """An empty cluster; anybody on this machine who finds the port gets in, for as long as the tests run."""
        self._run(
            str(self.bin_folder / "initdb"), "-D", str(self.folder / "data"), "-U", "tests", "-A", "trust",
            "-E", "UTF8", "--locale", "C", "--no-sync",
        )  # fmt: skip

    def start(self) -> None:
        """Start it and wait until it answers.

        After a kill the processes it has left hold on to the shared memory until they notice; a start before that ends at
        once, and is made again.
        """
        until = time.monotonic() + GENEROUS
        self._launch()
        while True:
            try:
                psycopg.connect(self.url("postgres"), connect_timeout=60).close()
            except psycopg.OperationalError:
                if time.monotonic() > until:
                    raise RuntimeError((self.folder / "log").read_text()) from None
                time.sleep(0.05)
                if self.process is None or self.process.poll() is not None:
                    self._launch()
            else:
                return

    def _launch(self) -> None:
        with (self.folder / "log").open("ab") as log:
            self.process = subprocess.Popen(
                [
                    str(self.bin_folder / "postgres"), "-D", str(self.folder / "data"), "-p", str(self.port),
                    "-c", "listen_addresses=127.0.0.1", "-c", f"unix_socket_directories={self.folder}",
                    "-c", "shared_buffers=64MB", "-c", "max_connections=60",
                    "-c", f"fsync={'on' if self.durable else 'off'}",
                ],
                user=self.user, cwd=self.folder, stdout=log, stderr=subprocess.STDOUT, start_new_session=True,
            )  # fmt: skip

    def kill(self) -> None:
        """Kill the server and all its processes at once, as a power cut would."""
        assert self.process is not None
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()

    def stop(self) -> None:
        """Stop it, connections or not."""
        if self.process is not None and self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)  # its word for: break connections off and stop
            try:
                self.process.wait(timeout=GENEROUS)
            except subprocess.TimeoutExpired:
                self.kill()

    def url(self, database: str) -> str:
        """The address of one of its databases."""
        return f"postgresql://tests@127.0.0.1:{self.port}/{database}"

    def new_database(self) -> str:
        """Make an empty database; its address."""
        self._made += 1
        name = f"store_{self._made}"
        self.ask(f"CREATE DATABASE {name} TEMPLATE template0", "postgres")
        return self.url(name)

    def disconnect(self, database: str) -> None:
        """Break off whatever is still connected to a database."""
        self.ask(
            f"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{database}'"  # noqa: S608 - our name
            " AND pid <> pg_backend_pid()",
            "postgres",
        )

    def ask(self, statement: str, database: str) -> None:
        """Have a statement carried out."""
        with psycopg.connect(self.url(database), autocommit=True) as connection:
            connection.execute(statement.encode())


@contextmanager
def postgres_running(*, durable: bool = False) -> Iterator[PostgresServer]:
    """A server that is there for a while; skips the test where PostgreSQL is not installed.

    ``durable``: every commit is on the disk, as it is outside of tests; without, databases are made and dropped faster.
    """
    bin_folder = programs()
    if bin_folder is None:
        pytest.skip("PostgreSQL is not installed here (no initdb): apt-get install postgresql")
    user = _user()
    folder = Path(tempfile.mkdtemp(prefix="packed-lunch-pg-"))
    if user is not None:
        shutil.chown(folder, user)
    server = PostgresServer(folder, bin_folder, user, durable)
    try:
        server.make()
        server.start()
        yield server
    finally:
        server.stop()
        shutil.rmtree(folder, ignore_errors=True)
