"""The server that listens: uvicorn with our limits of connections and our bounded log."""

from pathlib import Path

import uvicorn
from fastapi import FastAPI

from service.cli.server.connections import AT_ONCE, KEEP_ALIVE_S, bounded, limits_of
from service.cli.server.log_rate import bound_log
from service.settings import Settings

LONGEST_GOODBYE_S = 5
"""How long requests that are being worked on may still take after Ctrl+C; pages that are open are told to let go before."""


def server_of(app: FastAPI, chosen: Settings, cert: Path | None = None, key: Path | None = None) -> uvicorn.Server:
    """A server of the application, which does not run yet. ``cert`` and ``key``: files of TLS (PEM); None: without."""
    server = uvicorn.Server(
        uvicorn.Config(
            app,
            http=bounded(limits_of(chosen)),
            loop="service.cli.server.listening:Loop",
            ws="none",
            backlog=AT_ONCE,
            timeout_keep_alive=KEEP_ALIVE_S,
            host=chosen.host,
            port=chosen.port,
            log_config=None,  # as all that this process logs
            log_level=chosen.log_level,
            access_log=False,
            server_header=False,
            proxy_headers=False,  # the application reads them (api/app.py)
            ssl_certfile=cert,
            ssl_keyfile=key,
            timeout_graceful_shutdown=LONGEST_GOODBYE_S,
        )
    )
    bound_log(chosen.log_lines_per_minute)
    app.state.stopping = lambda: server.should_exit
    return server
