"""The whole application: the API and the pages."""

from fastapi import FastAPI

from service.api.app import create_app as create_api
from service.settings import Settings
from service.web.problem_pages import install_problem_pages, refusal_page
from service.web.routers import ROUTERS


def create_app(chosen: Settings | None = None) -> FastAPI:
    """The API's application with the pages beside it."""
    app = create_api(chosen, open_prefixes=("/static/", "/sign-in", "/language"), refusal_page=refusal_page)
    for router in ROUTERS:
        app.include_router(router)
    install_problem_pages(app)
    return app
