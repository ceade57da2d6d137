"""One day of the household: what each child took or buys, what is set out, and what is to be done for it now."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any
from uuid import UUID

from service.domain.errors import LunchError
from service.jobs.household.offers.set_out import school_day_from
from service.jobs.household.offers.taking import names_of
from service.jobs.household.packets.packets_to_read import Asked, packets_to_read
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.household.stored.resolving import Resolving
from service.jobs.offers.requests import OfferAuditWithIds
from service.store.household.kinds import CHILD, OFFER
from service.store.household.lunches import lunch_of_day
from service.store.household.records import Connection, find, page
from service.store.household.school_days import school_day_of

MOST_CHILDREN = 30


def family_day(connection: Connection, household: UUID, on: date) -> dict[str, Any]:
    """The day as a parent sees it.

    ``school``: whether there is school: from Monday to Friday, and on another day of which something is stored. ``children``:
    each with its ``state``: ``packed``, ``bought``, ``none`` (logged so), ``buys`` (the school day says so)
    or ``nothing_yet``, and what it took. ``offer``: what is set out, or None. ``to_do``: what to cut for whom (``cut_for``
    rows of an audit of the offer), and the packets to read for it.
    """
    day = school_day_of(connection, household, on)
    body: Mapping[str, Any] = {} if day is None else day.body
    children = [_child(connection, household, one.id, one.body, on, body) for one in _children(connection, household)]
    offer_id = body.get("offer")
    offer = None if offer_id is None else find(connection, OFFER, household, UUID(offer_id))
    waiting = [one["id"] for one in children if one["state"] == "nothing_yet"]
    to_do: dict[str, Any] = {"cut_for": [], "to_read": []}
    if offer is not None and waiting:
        to_do = {
            "cut_for": _cut_for(connection, household, str(offer.id), waiting, on),
            "to_read": _to_read(connection, household, str(offer.id), waiting, on),
        }
    logged = any("lunch" in one for one in children)
    return {
        "date": on.isoformat(),
        "school": on == school_day_from(on) or day is not None or logged,
        "children": children,
        "offer": None if offer is None else {"id": str(offer.id), "name": offer.body["name"]},
        "menu": body.get("menu"),
        "to_do": to_do,
    }


def _children(connection: Connection, household: UUID) -> Sequence[Any]:
    return page(connection, CHILD, household, None, MOST_CHILDREN)


def _child(
    connection: Connection, household: UUID, child: UUID, body: Mapping[str, Any], on: date, day: Mapping[str, Any]
) -> dict[str, Any]:
    logged = lunch_of_day(connection, household, child, on)
    buys = str(child) in day.get("buys", [])
    row = {"id": str(child), "nickname": body["nickname"], "state": "buys" if buys else "nothing_yet", "took": []}
    if logged is None:
        return row
    lunch = logged.body
    found = lunch.get("found") or {}
    return {
        **row,
        "state": lunch["kind"],
        "took": [name for name, _category in names_of(connection, household, lunch["items"])],
        "menu": lunch.get("menu"),
        "verdict": found.get("verdict"),
        "lunch": str(logged.id),
    }


def _cut_for(
    connection: Connection, household: UUID, offer: str, children: Sequence[str], on: date
) -> list[dict[str, Any]]:
    """What is to be cut in another form than it is set out in, for each child that has not taken yet."""
    from service.jobs.offers.reply import cut_rows  # with its arrays: slow to load, and few pages need it
    from service.jobs.offers.resolve import resolve_audit

    resolving = Resolving(KeptThings(connection, household))
    audit = resolving.audit(OfferAuditWithIds(on=on, offer=offer, children=list(children), swap_foods=[]))
    resolving.raise_faults()
    made = resolve_audit(audit)
    return [row for one in made.children for row in cut_rows(one)]


def _to_read(
    connection: Connection, household: UUID, offer: str, children: Sequence[str], on: date
) -> list[dict[str, Any]]:
    """The packets to read first; none where the offer cannot be audited: the page of the offer says why."""
    asked = Asked(frozenset(children), frozenset({offer}))
    try:
        rows: list[dict[str, Any]] = packets_to_read(connection, household, asked, on)["to_read"]
    except LunchError:
        return []
    return rows
