"""Which of the media types that there are a caller wants most."""

from collections.abc import Sequence

from fastapi import Request

from service.api.problems import ApiProblem
from service.domain.messages import message


def accepted_of(request: Request, *offered: str) -> str:
    """The media type to answer with; ``ApiProblem`` (406) where none of those offered is accepted."""
    best = best_of(offered, request.headers.get("accept", ""))
    if best is None:
        raise ApiProblem("not-acceptable", message("fault.none-accepted", media=list(offered)))
    return best


def best_of(offered: Sequence[str], accept: str) -> str | None:
    """The media type most wanted of those offered, the first of equals; None where none is wanted (RFC 9110 section 12.5.1)."""
    if not accept.strip():
        return offered[0]
    wanted: dict[str, float] = {}
    for part in accept.lower().split(","):
        media, *parameters = (one.strip() for one in part.split(";"))
        quality = 1.0
        for parameter in parameters:
            name, _, value = parameter.partition("=")
            if name.strip() == "q":
                try:
                    quality = float(value)
                except ValueError:
                    quality = 0.0
        wanted[media] = quality

    def quality_of(media: str) -> float:
        names = (media, media.split("/", maxsplit=1)[0] + "/*", "*/*")
        return next((wanted[name] for name in names if name in wanted), 0.0)

    best = max(offered, key=quality_of)
    return best if quality_of(best) > 0 else None
