"""Removing an own food or a dish: asked once, and refused where something names it."""

from fastapi import Request, Response

from service.domain.errors import StillUsed
from service.jobs.household.records import Resource
from service.web.foods.view import RemoveView
from service.web.language.chosen import text
from service.web.pages import go, page
from service.web.records import one_of, take_away
from service.web.refusals import ChangedMeanwhile
from service.web.viewer import Viewer


def ask_to_remove(
    request: Request, viewer: Viewer, resource: Resource, record_id: str, of_all: str, fault: str = ""
) -> Response:
    """A question, and a button. ``of_all``: address of the list; ``fault``: code of why it was not removed."""
    record = one_of(viewer.who(), resource, record_id)
    why = text(fault, viewer.language, name=record["name"]) if fault else ""
    view = RemoveView(record["name"], str(record["version"]), f"{of_all}/{record_id}", why)
    return page(request, viewer, "foods/remove.html", view, 409 if fault else 200)


def removed(
    request: Request, viewer: Viewer, resource: Resource, record_id: str, version: str, of_all: str
) -> Response:
    """Remove it; asked again where it was changed meanwhile, and told where something names it."""
    try:
        take_away(viewer.who(), resource, record_id, version)
    except ChangedMeanwhile:
        return go(f"{of_all}/{record_id}/remove")
    except StillUsed:
        return ask_to_remove(request, viewer, resource, record_id, of_all, "foods.still-used")
    return go(of_all)
