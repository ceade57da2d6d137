"""The files of the pages: style, scripts, pictures. Their addresses change with their content, so they are kept for a year."""

from functools import lru_cache
from mimetypes import guess_type

from fastapi import APIRouter, Response
from starlette.exceptions import HTTPException

from service.web.pages import HERE, static_mark

router = APIRouter(include_in_schema=False)

KEPT = "public, max-age=31536000, immutable"
STATIC = HERE / "static"


@router.get("/static/{mark}/{name:path}")
def static_file(mark: str, name: str) -> Response:
    """One file; there is none at an address of an older one."""
    if name not in _names() or mark != static_mark():
        raise HTTPException(404)
    media = "text/javascript" if name.endswith(".js") else guess_type(name)[0] or "text/plain"
    return Response((STATIC / name).read_bytes(), headers={"Cache-Control": KEPT}, media_type=media)


@lru_cache(maxsize=1)
def _names() -> frozenset[str]:
    return frozenset(path.relative_to(STATIC).as_posix() for path in STATIC.rglob("*") if path.is_file())
