"""The web application: routes, problems, documentation page, and the gate in front."""

import gc

from fastapi import FastAPI
from starlette.middleware import Middleware
from starlette.middleware.cors import CORSMiddleware

gc.freeze()  # what is loaded so far stays for good: the collector need not walk it again while the rest loads

from service import __version__  # noqa: E402 - see gc.freeze above
from service.api.access import Gate  # noqa: E402 - see gc.freeze above
from service.api.docs_page import install_docs  # noqa: E402 - see gc.freeze above
from service.api.openapi import openapi_document  # noqa: E402 - see gc.freeze above
from service.api.problems import install_problems  # noqa: E402 - see gc.freeze above
from service.api.routes import install_routes  # noqa: E402 - see gc.freeze above
from service.settings import Settings, settings  # noqa: E402 - see gc.freeze above


def create_app(chosen: Settings | None = None) -> FastAPI:
    """Make the application with the settings given, or those of the environment."""
    chosen = chosen or settings()
    middleware = [Middleware(Gate, access_key=chosen.access_key)]
    if chosen.origins():
        middleware.insert(
            0,
            Middleware(
                CORSMiddleware,
                allow_origins=chosen.origins(),
                allow_methods=["GET", "POST"],
                allow_headers=["Authorization", "Content-Type"],
            ),
        )
    app = FastAPI(
        title="Packed-lunch check",
        version=__version__,
        docs_url=None,
        redoc_url=None,
        openapi_url="/openapi.json",
        middleware=middleware,
        redirect_slashes=False,
    )
    app.state.max_body_bytes = chosen.max_body_bytes
    install_routes(app)
    install_problems(app)
    install_docs(app)
    gc.freeze()
    app.openapi = lambda: openapi_document(app)  # type: ignore[method-assign]  # FastAPI's documented way
    return app
