"""The web application: a FastAPI application of one router a subject, its problems, and the gate in front."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import anyio.to_thread
from fastapi import FastAPI
from starlette.middleware import Middleware
from starlette.middleware.cors import CORSMiddleware

from service import __version__
from service.api.compressed import Compressed
from service.api.docs.page import router as docs
from service.api.gate.access import Gate, RefusalPage
from service.api.gate.wrong_keys import WrongKeys
from service.api.logs.exchanges import Exchanges
from service.api.logs.metrics import Metrics
from service.api.problems import install_problems
from service.api.routers import ROUTES
from service.api.senders import KnownHosts, Proxies
from service.api.slow_bodies import SlowBodies
from service.api.workers import Workers
from service.jobs.household.access.opened import Households
from service.settings import Settings, settings

SMALLEST_COMPRESSED = 1_000
"""Bytes; below it compressing costs more than it saves."""


def create_app(
    chosen: Settings | None = None, *, open_prefixes: tuple[str, ...] = (), refusal_page: RefusalPage | None = None
) -> FastAPI:
    """Make the application with the settings given, or those of the environment.

    ``open_prefixes``: addresses that begin so are answered without a key. ``refusal_page``: answers a browser whose request
    for a page is refused. ``app.state`` has the ``settings``, the ``households`` (the store, opened when first needed), the
    ``workers``, and what counts ``wrong_keys``.
    """
    chosen = chosen or settings()
    households = Households(chosen.database_url)
    workers = Workers(chosen)
    wrong_keys = WrongKeys()
    proxies = Proxies(chosen.proxies())
    metrics = Metrics(workers.by_name()) if chosen.metrics_key else None
    middleware = [
        Middleware(
            Gate,
            access_key=chosen.access_key,
            households=households,
            hosts=KnownHosts(chosen.host, chosen.hosts()),
            wrong_keys=wrong_keys,
            behind_proxy=bool(proxies),
            metrics_key=chosen.metrics_key,
            tracebacks=chosen.tracebacks,
            open_prefixes=open_prefixes,
            refusal_page=refusal_page,
        ),
        # All that is served is text, so no kind of content has to be left out.
        Middleware(Compressed, minimum_size=SMALLEST_COMPRESSED, compresslevel=5, exclude_content_types=()),
        Middleware(SlowBodies, seconds=chosen.body_seconds, bytes_a_second=chosen.body_bytes_per_second),
    ]
    if chosen.origins():
        cors = Middleware(
            CORSMiddleware,
            allow_origins=chosen.origins(),
            allow_methods=["GET", "POST", "PUT", "PATCH", "DELETE"],
            allow_headers=["Authorization", "Content-Type", "If-Match", "If-None-Match", "Idempotency-Key"],
            expose_headers=["ETag", "Location", "Retry-After", "X-Request-ID"],
        )
        middleware.insert(0, cors)
    if proxies:
        from uvicorn.middleware.proxy_headers import ProxyHeadersMiddleware

        middleware.insert(0, Middleware(ProxyHeadersMiddleware, trusted_hosts=proxies.named))
    middleware.insert(0, Middleware(Exchanges, proxies=proxies, counts=metrics))

    @asynccontextmanager
    async def running(_app: FastAPI) -> AsyncIterator[None]:
        yield
        await anyio.to_thread.run_sync(households.close)

    app = FastAPI(
        title="Packed-lunch check",
        version=__version__,
        middleware=middleware,
        lifespan=running,
        redirect_slashes=False,
        openapi_url=None,  # the document and its page are served in docs_page.py
    )
    app.state.settings = chosen
    app.state.households = households
    app.state.workers = workers
    app.state.wrong_keys = wrong_keys
    app.router.routes.extend([*ROUTES, *docs.routes])
    if metrics is not None:
        app.router.routes.append(metrics.route())
    install_problems(app)
    return app
