"""One day of the household: what each child took or buys, what is set out, and what is to be done for it now."""

from collections.abc import Collection, Mapping, Sequence
from datetime import date
from typing import Any
from uuid import UUID

from service.domain.errors import LunchError
from service.domain.offers.branches import branches
from service.jobs.foods.packets import packet_id
from service.jobs.household.days.holidays import A_DAY
from service.jobs.household.days.school_meals import meal_rows
from service.jobs.household.lunch.judged_by import LoggedDays
from service.jobs.household.offers.set_out import faults_of_children, school_day_from
from service.jobs.household.offers.taking import names_of
from service.jobs.household.packets.packets_to_read import Asked, packets_to_read, to_read_for_lunch
from service.jobs.household.requests import KeptChild, KeptLunch
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.household.stored.resolving import Resolving
from service.jobs.offers.requests import OfferAuditWithIds
from service.jobs.weeks.requests import Menu, week_of
from service.store.household.kinds import CHILD, OFFER
from service.store.household.lunches import lunch_of_day
from service.store.household.records import Connection, find, page
from service.store.household.school_days import school_day_of

MOST_CHILDREN = 30


def family_day(connection: Connection, household: UUID, on: date, holidays: Collection[date]) -> dict[str, Any]:
    """The day as a parent sees it; ``holidays``: those of the plans.

    ``school``: whether there is school: from Monday to Friday but for holidays of the plans, and on another day of which
    something is stored. ``children``:
    each with its ``state``: ``packed``, ``bought``, ``none`` (logged so), ``buys`` (the school day says so)
    or ``nothing_yet``, and what it took; of a lunch by what is known now: its ``verdict``, ``dangers`` (what was packed before
    it was known, with the allergens) and the names of what is ``unread``; of a meal that it buys what it means
    (``meal``: a row of ``meal_rows``, or None) and whether it has anything to avoid. ``offer``:
    what is set out, or None. ``to_do``: what to cut for whom (``cut_for`` rows of an audit of the offer), the nicknames of those
    for whom there is no lunch in it (``no_lunch``), those for whom it cannot be told (``cannot_tell``: id, nickname and the
    fault, for example because the child's rules have no age group for it), and the packets to read for it and for the lunches taken.
    """
    day = school_day_of(connection, household, on)
    body: Mapping[str, Any] = {} if day is None else day.body
    kept = KeptThings(connection, household)
    children = [
        _child(connection, household, kept, (one.id, one.body), on, body) for one in _children(connection, household)
    ]
    offer_id = body.get("offer")
    offer = None if offer_id is None else find(connection, OFFER, household, UUID(offer_id))
    waiting = {one["id"]: one["nickname"] for one in children if one["state"] == "nothing_yet"}
    to_do: dict[str, Any] = {"cut_for": [], "no_lunch": [], "cannot_tell": [], "to_read": []}
    if offer is not None and waiting:
        to_do = {
            **_for_each(connection, household, str(offer.id), waiting, on),
            "to_read": _to_read(connection, household, str(offer.id), list(waiting), on),
        }
    to_do["to_read"] = _each_food_once(
        [*to_do["to_read"], *(row for one in children for row in one.pop("to_read", []))]
    )
    logged = any("lunch" in one for one in children)
    return {
        "date": on.isoformat(),
        "school": day is not None or logged or on == next_school_day(connection, household, on, holidays),
        "children": children,
        "offer": None if offer is None else {"id": str(offer.id), "name": offer.body["name"]},
        "menu": body.get("menu"),
        "to_do": to_do,
    }


def next_school_day(connection: Connection, household: UUID, on: date, holidays: Collection[date]) -> date:
    """The first school day from a day on: neither a weekend nor a holiday of the plans of which nothing is stored."""
    day = school_day_from(on)
    while day in holidays and school_day_of(connection, household, day) is None:
        day = school_day_from(day + A_DAY)
    return day


def _children(connection: Connection, household: UUID) -> Sequence[Any]:
    return page(connection, CHILD, household, None, MOST_CHILDREN)


def _child(
    connection: Connection,
    household: UUID,
    kept: KeptThings,
    stored: tuple[UUID, Mapping[str, Any]],
    on: date,
    day: Mapping[str, Any],
) -> dict[str, Any]:
    child, body = stored
    logged = lunch_of_day(connection, household, child, on)
    buys = str(child) in day.get("buys", [])
    row = {
        "id": str(child),
        "nickname": body["nickname"],
        "state": "buys" if buys else "nothing_yet",
        "took": [],
        "careful": bool(body["avoids"]),
    }
    asked = KeptChild.model_validate(body)
    if logged is None:
        return {**row, "meal": _meal(row["id"], asked, on, day.get("menu"))} if buys else row
    lunch = logged.body
    if lunch["kind"] == "bought":
        row["meal"] = _meal(row["id"], asked, on, lunch.get("menu") or day.get("menu"))
    return {
        **row,
        "state": lunch["kind"],
        "took": [name for name, _category in names_of(connection, household, lunch["items"])],
        "menu": lunch.get("menu"),
        "lunch": str(logged.id),
        **_by_now(kept, row, asked, KeptLunch.model_validate(lunch)),
    }


def _meal(child_id: str, child: KeptChild, on: date, menu: Mapping[str, Any] | None) -> dict[str, Any] | None:
    """What a meal means for a child; None where it has nothing to avoid, or the meal is not known."""
    if menu is None:
        return None
    return next(iter(meal_rows({child_id: child}, [(on, Menu.model_validate(menu), (child_id,))])), None)


def _by_now(kept: KeptThings, row: Mapping[str, Any], child: KeptChild, lunch: KeptLunch) -> dict[str, Any]:
    """What is known by now of a lunch: packets may have been read, and allergies entered, since it was logged."""
    corrections = LoggedDays(kept, child, [lunch]).corrections(week_of(lunch.date))
    dangers = [{"names": one.names, "allergens": one.allergens} for one in corrections if one.do_not_pack]
    unread = to_read_for_lunch(kept, child, lunch)
    verdict = None if lunch.found is None else lunch.found.verdict
    if dangers:
        verdict = "do_not_pack"
    elif unread and verdict != "do_not_pack":
        verdict = "check_label"
    elif verdict == "check_label":
        verdict = "pack"
    return {
        "verdict": verdict,
        "dangers": dangers,
        "unread": [one.food.name for one in unread],
        "to_read": [
            {"food": food, "name": one.food.name, "children": [{"id": row["id"], "nickname": row["nickname"]}]}
            for one in unread
            if (food := packet_id(one.food)) is not None
        ],
    }


def _each_food_once(rows: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """The packets to read, each with all children that wait for it."""
    once: dict[str, dict[str, Any]] = {}
    for row in rows:
        there = once.setdefault(row["food"], {**row, "children": []})
        there["children"] = [*there["children"], *row["children"]]
    return list(once.values())


def _for_each(
    connection: Connection, household: UUID, offer: str, children: Mapping[str, str], on: date
) -> dict[str, list[Any]]:
    """Of the children that have not taken yet (nicknames by id), what is to be cut in another form than it is set out in, who finds no lunch, and
    for whom that cannot be told: the others are told it all the same.
    """
    from service.jobs.offers.reply import cut_rows  # with its arrays: slow to load, and few pages need it
    from service.jobs.offers.resolve import resolve_audit

    kept = KeptThings(connection, household)

    def told(some: Sequence[str]) -> dict[str, list[Any]]:
        resolving = Resolving(kept)
        audit = resolving.audit(OfferAuditWithIds(on=on, offer=offer, children=list(some), swap_foods=[]))
        resolving.raise_faults()
        made = resolve_audit(audit)
        return {
            "cut_for": [row for one in made.children for row in cut_rows(one)],
            "no_lunch": [one.child.nickname for one in made.children if not branches(one.offer)],
        }

    try:
        return {**told(list(children)), "cannot_tell": []}
    except LunchError:
        cannot_tell = faults_of_children(kept, offer, children, on)
        if not cannot_tell:
            raise
    at_fault = {one["id"] for one in cannot_tell}
    judged = [child for child in children if child not in at_fault]
    return {**(told(judged) if judged else {"cut_for": [], "no_lunch": []}), "cannot_tell": cannot_tell}


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
