"""The files of the pages: style, scripts, pictures. Their addresses change with their content, so they are kept for a year."""

import re
from functools import lru_cache
from mimetypes import guess_type

from fastapi import APIRouter, Response
from starlette.exceptions import HTTPException

from service.web.pages import HERE, static_mark

router = APIRouter(include_in_schema=False)

KEPT = "public, max-age=31536000, immutable"
STATIC = HERE / "static"
ALL_PICTURES = "pictures.svg"
"""All pictures of foods in one file, each a symbol by its name: a page with forty foods asks for one file."""
DRAWING = re.compile(r'<svg [^>]*viewBox="([^"]*)"[^>]*>(.*)</svg>', re.DOTALL)


@router.get("/static/{mark}/{name:path}")
def static_file(mark: str, name: str) -> Response:
    """One file; there is none at an address of an older one."""
    if mark != static_mark():
        raise HTTPException(404)
    if name == ALL_PICTURES:
        return Response(all_pictures(), headers={"Cache-Control": KEPT}, media_type="image/svg+xml")
    if name not in _names():
        raise HTTPException(404)
    media = "text/javascript" if name.endswith(".js") else guess_type(name)[0] or "text/plain"
    return Response((STATIC / name).read_bytes(), headers={"Cache-Control": KEPT}, media_type=media)


@lru_cache(maxsize=1)
def _names() -> frozenset[str]:
    return frozenset(path.relative_to(STATIC).as_posix() for path in STATIC.rglob("*") if path.is_file())


@lru_cache(maxsize=1)
def all_pictures() -> str:
    """The drawings of the folder, as symbols of one file."""
    symbols = []
    for path in sorted((STATIC / "pictures").glob("*.svg")):
        found = DRAWING.search(path.read_text(encoding="utf-8"))
        if found is None:
            raise ValueError(f"{path} is not a drawing with a viewBox")
        symbols.append(f'<symbol id="{path.stem}" viewBox="{found[1]}">{found[2]}</symbol>')
    return f'<svg xmlns="http://www.w3.org/2000/svg">{"".join(symbols)}</svg>'
