"""Pages that count every lunch of an offer: a few at a time, so that all other pages are answered meanwhile."""

from collections.abc import Callable
from functools import partial, wraps
from typing import Any

from fastapi import Response


def heavy(endpoint: Callable[..., Response]) -> Callable[..., Any]:
    """An endpoint that waits in the queue of heavy pages; it takes ``request``. Where too many wait, the page says so (429)."""

    @wraps(endpoint)
    async def waiting(**given: Any) -> Response:
        made: Response = await given["request"].app.state.workers.pages.run(partial(endpoint, **given))
        return made

    return waiting
