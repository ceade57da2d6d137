"""A packet looked up by its code or by words, in a public database of branded foods."""

import re
from typing import Any

from fastapi import APIRouter, Request, Response

from service.domain.errors import AnyFault
from service.jobs.household.access.households import today
from service.jobs.household.branded.live_source import live_source_of
from service.jobs.household.branded.look_up import look_up_branded
from service.jobs.household.packets.packets_kept import packets_kept
from service.settings import Settings
from service.web.forms.form import Form
from service.web.packets.look_up_view import LookUpView, look_up_view, nothing_looked_up
from service.web.pages import page
from service.web.viewer import Parent, Viewer

router = APIRouter(include_in_schema=False)

LONGEST_QUERY = 100
MOST_SHOWN = 20
CODE = re.compile(r"[\d\s-]*\d[\d\s-]*", re.ASCII)
"""Digits only, as a scanner types them, or with spaces and hyphens as they are printed."""


@router.get("/packets/look-up")
def look_up(request: Request, viewer: Parent, q: str = "") -> Response:
    """What the database knows of a code or of words; without either, the field for it."""
    query = q.strip()[:LONGEST_QUERY]
    if not query:
        return page(request, viewer, "packets/look_up.html", nothing_looked_up())
    try:
        found = look_up_for(request, viewer, query)
    except AnyFault as fault:
        view = LookUpView(query, [], fault=Form().with_faults(fault).faults[0].sentence)
        return page(request, viewer, "packets/look_up.html", view, 422 if fault.slug == "bad-input" else 200)
    caller, before = viewer.who(), []
    if is_code(query):
        with caller.store.reading() as connection:
            digits = re.sub(r"\D", "", query).lstrip("0")
            before = packets_kept(connection, caller.household, today(), digits)["items"]
    return page(request, viewer, "packets/look_up.html", look_up_view(query, found, before))


def is_code(query: str) -> bool:
    """Whether what was typed is a code: digits only."""
    return CODE.fullmatch(query) is not None


def look_up_for(request: Request, viewer: Viewer, query: str) -> dict[str, Any]:
    """What is found for a code or words, as the API shows it; raises as ``look_up_branded``."""
    caller, chosen = viewer.who(), _chosen(request)
    with caller.store.reading() as connection:
        live = live_source_of(connection, caller.household, chosen.food_data_url, chosen.food_data_cache)
    code = query if is_code(query) else None
    return look_up_branded(gtin=code, words=query, limit=MOST_SHOWN, index_file=chosen.branded_foods_file, live=live)


def _chosen(request: Request) -> Settings:
    chosen: Settings = request.app.state.settings
    return chosen
