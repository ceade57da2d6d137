"""``packed-lunch serve``: loopback by default, a public address only with an access key.

Before it listens, the store is opened, lunches kept too long are removed, and the first start of all makes a household
and prints its key.
"""

import sys
from typing import TYPE_CHECKING, Annotated

import typer

from service.cli.faults import report_faults
from service.domain.errors import BadInput, LunchError

if TYPE_CHECKING:
    from service.settings import Settings


def serve(
    host: Annotated[
        str | None, typer.Option(help="Address to listen on; default PACKED_LUNCH_HOST or 127.0.0.1.")
    ] = None,
    port: Annotated[int | None, typer.Option(help="Port; default PACKED_LUNCH_PORT or 8087.", min=1, max=65535)] = None,
) -> None:
    """Serve the JSON API (documentation at /docs)."""
    with report_faults(False):
        run_server(host, port)


def run_server(host: str | None, port: int | None) -> None:
    """Serve until stopped; ``BadInput`` where the settings would expose the service without a key."""
    chosen = chosen_settings(host, port)
    _make_store_ready(chosen.database_url)
    import uvicorn

    from service.api.app import create_app

    print(f"Packed-lunch check at http://{chosen.host}:{chosen.port} - documentation at /docs, stop with Ctrl+C")
    uvicorn.run(
        create_app(chosen),
        host=chosen.host,
        port=chosen.port,
        log_level=chosen.log_level,
        access_log=False,
        server_header=False,
    )


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
        hidden = not place or place == "access_key"  # a fault of all settings together would show the key
        raise BadInput(
            pointer=place or "settings",
            value=(host or "as given") if hidden else str(error["input"]),
            problem="cannot be used",
            remedy=str(error["msg"]).removeprefix("Value error, ") + ".",
        ) from fault


def _make_store_ready(url: str) -> None:
    """Open the store once; where nobody chose it and it cannot be opened, everything that stores nothing is served anyway."""
    from service.cli.care import opened_store
    from service.jobs.household.access.access_keys import make_first_key
    from service.jobs.household.access.households import purge, today
    from service.reference.fault_words import fault_sentence

    try:
        with opened_store(url) as store:
            purge(store, today())
            secret = make_first_key(store)
    except LunchError as fault:
        if url:
            raise
        print(f"Nothing can be kept: {fault_sentence(fault)}", file=sys.stderr)
        return
    if secret is not None:
        print("This store is new: a household was made. Its access key, shown this once; write it down:")
        print(f"    {secret}", flush=True)
