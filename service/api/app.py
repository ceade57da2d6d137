"""The web application: a FastAPI application of one router a subject, its problems, and the gate in front."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import anyio.to_thread
from fastapi import FastAPI
from starlette.middleware import Middleware
from starlette.middleware.cors import CORSMiddleware
from starlette.middleware.gzip import GZipMiddleware

from service import __version__
from service.api.access import Gate, RefusalPage
from service.api.docs.page import router as docs
from service.api.problems import install_problems
from service.api.routers import ROUTES
from service.api.senders import KnownHosts
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
    for a page is refused. ``app.state`` has the ``settings``, the ``households`` (the store, opened when first needed) and the ``workers``.
    """
    chosen = chosen or settings()
    households = Households(chosen.database_url)
    middleware = [
        Middleware(
            Gate,
            access_key=chosen.access_key,
            households=households,
            hosts=KnownHosts(chosen.host, chosen.hosts()),
            behind_proxy=chosen.behind_proxy,
            open_prefixes=open_prefixes,
            refusal_page=refusal_page,
        ),
        # All that is served is text, so no kind of content has to be left out.
        Middleware(GZipMiddleware, minimum_size=SMALLEST_COMPRESSED, compresslevel=5, exclude_content_types=()),
        Middleware(SlowBodies, seconds=chosen.body_seconds, bytes_a_second=chosen.body_bytes_per_second),
    ]
    if chosen.origins():
        cors = Middleware(
            CORSMiddleware,
            allow_origins=chosen.origins(),
            allow_methods=["GET", "POST", "PUT", "PATCH", "DELETE"],
            allow_headers=["Authorization", "Content-Type", "If-Match", "If-None-Match", "Idempotency-Key"],
            expose_headers=["ETag", "Location", "Retry-After"],
        )
        middleware.insert(0, cors)

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
    app.state.workers = Workers(chosen)
    app.router.routes.extend([*ROUTES, *docs.routes])
    install_problems(app)
    return app
