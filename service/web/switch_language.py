"""The switch of the language, on every page."""

from typing import Annotated

from fastapi import APIRouter, Form, Response

from service.reference.messages import languages
from service.web.language.chosen import A_YEAR, COOKIE
from service.web.pages import go
from service.web.viewer import Anybody

router = APIRouter(include_in_schema=False)


@router.post("/language")
async def switch(viewer: Anybody, language: Annotated[str, Form()], back: Annotated[str, Form()] = "/") -> Response:
    """Take another language from now on, on this device; back to the page it was chosen on."""
    there = go(back if back.startswith("/") and not back.startswith(("//", "/\\")) else "/")
    if language in languages():
        there.set_cookie(COOKIE, language, max_age=A_YEAR, httponly=True, samesite="lax")
    return there
