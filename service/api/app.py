"""The web application: routes, problems, documentation page, and the gate in front.

The lunch check is answered by a plain Starlette application; FastAPI, which documents all routes and serves the
others, is loaded with the first request that needs it.
"""

import gc
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import anyio.to_thread
import orjson
from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.middleware.cors import CORSMiddleware
from starlette.requests import Request
from starlette.responses import Response

from service.api.access import Gate
from service.api.docs_page import install_docs
from service.api.household.opened import Households
from service.api.json_route import JSON
from service.api.problems import install_problems
from service.api.routes import install_routes
from service.settings import Settings, settings


def create_app(chosen: Settings | None = None) -> Starlette:
    """Make the application with the settings given, or those of the environment."""
    chosen = chosen or settings()
    households = Households(chosen.database_url)
    middleware = [Middleware(Gate, access_key=chosen.access_key, households=households)]
    if chosen.origins():
        middleware.insert(
            0,
            Middleware(
                CORSMiddleware,
                allow_origins=chosen.origins(),
                allow_methods=["GET", "POST", "PUT", "PATCH", "DELETE"],
                allow_headers=["Authorization", "Content-Type", "If-Match", "If-None-Match", "Idempotency-Key"],
                expose_headers=["ETag", "Location", "Retry-After"],
            ),
        )

    @asynccontextmanager
    async def running(_app: Starlette) -> AsyncIterator[None]:
        yield
        await anyio.to_thread.run_sync(households.close)

    app = Starlette(middleware=middleware, lifespan=running)
    app.router.redirect_slashes = False
    app.state.max_body_bytes = chosen.max_body_bytes
    install_routes(app)
    install_problems(app)
    install_docs(app)
    app.add_route("/openapi.json", document, methods=["GET"], include_in_schema=False)
    gc.freeze()  # what is loaded stays for good: the collector need not walk it again
    return app


def document(_request: Request) -> Response:
    """The OpenAPI document."""
    from service.api.openapi import openapi_document

    return Response(orjson.dumps(openapi_document()), media_type=JSON)
