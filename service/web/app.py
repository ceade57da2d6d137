"""The whole application: the API and the pages."""

from collections import Counter

import anyio
from fastapi import FastAPI

from service.api.app import create_app as create_api
from service.settings import Settings
from service.web.live.routes import LOOKS_AT_ONCE
from service.web.problem_pages import install_problem_pages, refusal_page
from service.web.routers import ROUTES


def create_app(chosen: Settings | None = None) -> FastAPI:
    """The API's application with the pages beside it.

    ``app.state`` also has ``streams``, how many live streams each device and each household has open, ``looks``, which bounds the threads
    that look for them, and ``stopping``, which says whether they should end because the service is about to: whoever runs the server may
    set it.
    """
    app = create_api(
        chosen, open_prefixes=("/static/", "/sign-in", "/language", "/calendar/"), refusal_page=refusal_page
    )
    app.state.streams = Counter()
    app.state.looks = anyio.CapacityLimiter(LOOKS_AT_ONCE)
    app.state.stopping = lambda: False
    app.router.routes.extend(ROUTES)
    install_problem_pages(app)
    return app
