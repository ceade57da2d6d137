"""``packed-lunch serve``: loopback by default; from any other machine, a key or a device that is signed in is needed.

Before it listens, the store is opened, lunches kept too long are removed, and the first start of all makes a household.
At a terminal it prints the key of that household, and each start prints a link that signs in one browser, once, within ten
minutes. Where the output goes to a file or a log, neither is made: there it says which commands make them.
"""

import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from service.cli.terminal.addresses import base_address
from service.cli.terminal.faults import report_faults
from service.cli.terminal.stopping import ended_by_signals, leave_undone
from service.domain.errors import AnyFault, BadInput
from service.domain.messages import message

if TYPE_CHECKING:
    from uuid import UUID

    from service.jobs.household.access.store import Store
    from service.settings import Settings

SECRETS = ("access_key", "metrics_key")
LARGEST_TLS_FILE = 1_000_000
"""Bytes."""
NOT_STARTED = 3
"""The exit code where the address cannot be listened on; the log says why."""


class Tls(NamedTuple):
    """The files of a certificate and its key (PEM); None: no TLS."""

    cert: Path | None = None
    key: Path | None = None


def serve(
    host: Annotated[
        str | None, typer.Option(help="Address to listen on; default PACKED_LUNCH_HOST or 127.0.0.1.")
    ] = None,
    port: Annotated[int | None, typer.Option(help="Port; default PACKED_LUNCH_PORT or 8087.", min=1, max=65535)] = None,
    household: Annotated[
        str | None, typer.Option(metavar="ID", help="The household that the sign-in link is for; default: the first.")
    ] = None,
    tls_cert: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Certificate for TLS, with its chain (PEM); needs --tls-key.")
    ] = None,
    tls_key: Annotated[Path | None, typer.Option(metavar="FILE", help="Its private key (PEM).")] = None,
    demo: Annotated[
        bool, typer.Option("--demo", help="Serve an invented family with four weeks, in a new store of its own.")
    ] = False,
) -> None:
    """Serve the pages and the JSON API (documentation at /docs)."""
    with report_faults(False):
        run_server(host, port, household, Tls(tls_cert, tls_key), demo=demo)
    leave_undone()


def run_server(
    host: str | None, port: int | None, household: str | None = None, tls: Tls | None = None, *, demo: bool = False
) -> None:
    """Serve until stopped; ``BadInput`` where settings, household or files of TLS cannot be used."""
    tls = tls or Tls()
    chosen = chosen_settings(host, port)
    check_tls(tls)
    from service.api.logs.lines import configure_logging

    configure_logging(chosen.log_level, chosen.log_format, tracebacks=chosen.tracebacks)
    with _demo_store(chosen) if demo else _usual_store(chosen) as chosen:
        base = base_address(chosen, tls=tls.cert is not None)
        _make_store_ready(chosen.database_url, household, base, demo=demo)
        from service.cli.server.uvicorn_server import server_of
        from service.web.app import create_app

        server = server_of(create_app(chosen), chosen, tls.cert, tls.key)
        print(f"Packed-lunch check at {base} - documentation at /docs, stop with Ctrl+C", flush=True)
        with suppress(KeyboardInterrupt), ended_by_signals():
            server.run()
        if not server.started:
            raise typer.Exit(NOT_STARTED)


def chosen_settings(host: str | None, port: int | None) -> "Settings":
    """The settings of the environment and the options given; ``BadInput`` that names the one that cannot be used."""
    from pydantic import ValidationError

    from service.settings import Settings

    given = {name: value for name, value in (("host", host), ("port", port)) if value is not None}
    try:
        return Settings(**given)
    except ValidationError as fault:
        error = fault.errors()[0]
        place = "/".join(str(part) for part in error["loc"])
        hidden = not place or place in SECRETS  # a fault of all settings together would show a key
        raise BadInput(
            pointer=place or "settings",
            value=(host or "as given") if hidden else str(error["input"]),
            problem=message("fault.setting-unusable", reason=str(error["msg"]).removeprefix("Value error, ")),
        ) from fault


def check_tls(tls: Tls) -> None:
    """``BadInput`` unless both files are given and belong together, or neither is given."""
    if tls.cert is None and tls.key is None:
        return
    from service.jobs.files import read_plain

    for name, file in (("--tls-cert", tls.cert), ("--tls-key", tls.key)):
        if file is None:
            raise BadInput(pointer=name, value="", problem=message("fault.one-tls-file"))
        try:
            read_plain(file, LARGEST_TLS_FILE, name)
        except OSError as fault:
            raise BadInput(
                pointer=name,
                value=str(file),
                problem=message("fault.tls-file-unreadable", reason=fault.strerror),
            ) from fault
    import ssl

    try:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(str(tls.cert), tls.key, password="")  # without one, the terminal would be asked
    except (ssl.SSLError, ValueError) as fault:
        raise BadInput(
            pointer="--tls-cert",
            value=f"{tls.cert}, {tls.key}",
            problem=message("fault.not-cert-and-key"),
        ) from fault


@contextmanager
def _usual_store(chosen: "Settings") -> Iterator["Settings"]:
    yield chosen


@contextmanager
def _demo_store(chosen: "Settings") -> Iterator["Settings"]:
    """The settings with a new store of the invented family, which is removed in the end."""
    from service.cli.household.care import opened_store
    from service.jobs.files import working_folder
    from service.jobs.household.access.households import today
    from service.jobs.household.demo import keep_demo_household

    with working_folder() as folder:
        url = f"sqlite:///{folder / 'demo.sqlite3'}"
        with opened_store(url) as store:
            keep_demo_household(store, today())
        print("An invented family, in a store of its own that is removed when the service stops.")
        yield chosen.model_copy(update={"database_url": url})


def _make_store_ready(url: str, household: str | None, base: str, *, demo: bool = False) -> None:
    """Open the store once; say how to begin. Where nobody chose it and it cannot be opened, everything that stores nothing is served anyway."""
    from service.cli.household.care import opened_store
    from service.cli.household.retention import purged_in_words
    from service.jobs.household.access.access_keys import make_first_household
    from service.jobs.household.access.households import today
    from service.jobs.household.retention.purging import purge
    from service.reference.fault_words import fault_sentence

    shown = sys.stdout.isatty()
    try:
        with opened_store(url) as store:
            if store.read_only:
                print(
                    "The store may not be written to: it can be read with its keys and devices, and nothing can be changed."
                )
                return
            purged = purge(store, today())
            made, secret = make_first_household(store, with_key=shown)
            path = _link_path(store, household) if shown else None
            if not shown and household is not None:
                _named(store, household)
    except AnyFault as fault:
        if url or household:
            raise
        print(f"Nothing can be kept: {fault_sentence(fault)}", file=sys.stderr)
        return
    for one in purged:
        if one.held or any(one.removed.values()):
            print("\n".join(purged_in_words(one)))
    if path is None:
        print(_how_to_begin(made, base, household, store_of_demo=url if demo else ""), flush=True)
        return
    if secret is not None:
        print("This store is new: a household was made. Its access key, shown this once; write it down:")
        print(f"    {secret}")
    print("To begin, open this in a browser on this computer, once, within ten minutes:")
    print(f"    {base}{path}", flush=True)


def _how_to_begin(is_new: bool, base: str, household: str | None, store_of_demo: str) -> str:
    """One line without any secret: which commands print a sign-in link and a key. ``is_new``: the household was just made."""
    which = "" if household is None else f" --household {household}"
    setting = f"PACKED_LUNCH_DATABASE_URL={store_of_demo} " if store_of_demo else ""
    new = "This store is new: a household was made. " if is_new else ""
    return (
        f"{new}No sign-in link or key is shown here, because this is not a terminal. To get a link: "
        f"{setting}packed-lunch devices add --at {base}{which}   To get a key: {setting}packed-lunch keys make NAME --rights keep{which}"
    )


def _link_path(store: "Store", household: str | None) -> str:
    from service.jobs.household.access.sign_in_links import link_of_this_computer

    return link_of_this_computer(store, None if household is None else _named(store, household)).path


def _named(store: "Store", household: str) -> "UUID":
    from service.jobs.household.transfer.export_household import the_household

    return the_household(store, household)
