"""The page that leads to all others."""

from fastapi import APIRouter, Request, Response

from service.web.more.view import MoreView, Place
from service.web.pages import UNDER_MORE, page
from service.web.viewer import Packer

router = APIRouter(include_in_schema=False)


@router.get("/more")
def show_more(request: Request, viewer: Packer) -> Response:
    """Each page with a sentence on what it is for."""
    view = MoreView([Place(f"/{name}", f"more.{name}", f"more.{name}-for") for name in UNDER_MORE])
    return page(request, viewer, "more/more.html", view)
