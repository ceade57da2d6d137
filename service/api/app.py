"""The web application: routes, problems, documentation page, and the gate in front."""

from fastapi import FastAPI
from starlette.middleware import Middleware
from starlette.middleware.cors import CORSMiddleware

from service import __version__
from service.api.access import Gate
from service.api.docs_page import install_docs
from service.api.openapi import openapi_document
from service.api.problems import install_problems
from service.api.routes import install_routes
from service.settings import Settings, settings


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
    app.openapi = lambda: openapi_document(app)  # type: ignore[method-assign]  # FastAPI's documented way
    return app
