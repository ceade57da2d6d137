"""The page that leads to all others."""

from fastapi import APIRouter, Request, Response

from service.web.more.view import MoreView, Place
from service.web.pages import UNDER_MORE, page
from service.web.viewer import Packer

router = APIRouter(include_in_schema=False)

FOR_PARENTS = ("care", "food-data", "devices")
"""Pages for a device that may do everything."""


@router.get("/more")
def show_more(request: Request, viewer: Packer) -> Response:
    """Each page that the device may open, with a sentence on what it is for."""
    names = [name for name in UNDER_MORE if viewer.may_change or name not in FOR_PARENTS]
    view = MoreView([Place(f"/{name}", f"more.{name}", f"more.{name}-for") for name in names])
    return page(request, viewer, "more/more.html", view)
