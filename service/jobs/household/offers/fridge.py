"""A school week for the fridge: what is set out on each day, who buys, and what is not for whom."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from service.domain.errors import LunchError
from service.jobs.household.days.school_days import school_days_between
from service.jobs.household.offers.set_out import MOST_CHILDREN, audit_for_family, offer_shown, weeks_of
from service.jobs.household.records import show_record
from service.store.household.kinds import CHILD
from service.store.household.lunches import kinds_of_days
from service.store.household.records import Connection, page


def fridge_week(connection: Connection, household: UUID, on: date) -> dict[str, Any]:
    """The school week of a day.

    ``days``: each with ``offer``: what is set out as ``offer_shown`` has it, or None; ``for_child``, a row for each child:
    what is ``logged`` of it (``packed``, ``bought``, ``none``; None where nothing is), whether it ``buys``, whether there is ``no_lunch`` for it, what is ``not_for`` it, what to ``read_first``, what to ``cut``, ``amounts`` of its own (name, quantity,
    unit), and ``fault``: the faults where nothing can be told for it. ``same_as``: the first day with the same offer, None on that day itself.
    """
    from service.jobs.household.kinds import OFFERS

    (week,) = weeks_of(on, 1)
    children = [(str(one.id), one.body["nickname"]) for one in page(connection, CHILD, household, None, MOST_CHILDREN)]
    stored = {one.date: one for one in school_days_between(connection, household, week[0], week[-1])}
    logged = kinds_of_days(connection, household, week[0], week[-1])
    of_offer: dict[str, list[date]] = {}
    for day in week:
        if day in stored and (set_out := stored[day].offer) is not None:
            of_offer.setdefault(set_out, []).append(day)
    shown: dict[str, dict[str, Any]] = {}
    told: dict[date, dict[str, dict[str, Any]]] = {}
    for each, its_days in of_offer.items():
        shown[each] = offer_shown(connection, household, show_record(connection, OFFERS, household, each))
        told |= _on_each(connection, household, each, its_days)
    days = []
    for day in week:
        there = stored.get(day)
        offer_id = None if there is None else there.offer
        offer, found = (None, {}) if offer_id is None else (shown[offer_id], told[day])
        first = day if offer_id is None else of_offer[offer_id][0]
        buys = set() if there is None else set(there.buys)
        days.append(
            {
                "date": day.isoformat(),
                "offer": offer,
                "same_as": None if first == day else first.isoformat(),
                "for_child": [
                    {
                        "id": child,
                        "nickname": nickname,
                        "logged": logged.get((child, day)),
                        "buys": child in buys,
                        "amounts": _own_amounts(offer, child, found.get(child, NOTHING)),
                        **found.get(child, NOTHING),
                    }
                    for child, nickname in children
                ],
            }
        )
    return {"monday": week[0].isoformat(), "children": [nickname for _child, nickname in children], "days": days}


NOTHING: dict[str, Any] = {"not_for": [], "read_first": [], "cut": [], "fault": [], "no_lunch": False}


def _on_each(
    connection: Connection, household: UUID, offer_id: str, days: list[date]
) -> dict[date, dict[str, dict[str, Any]]]:
    """What `_for_children` tells on each day of an offer: in a week a packet may come due again, or a child turn a year older.

    Only where the last day differs from the first are those between looked at.
    """
    found = {day: _for_children(connection, household, offer_id, day) for day in {days[0], days[-1]}}
    for day in days[1:-1]:
        same = found[days[0]] == found[days[-1]]
        found[day] = found[days[0]] if same else _for_children(connection, household, offer_id, day)
    return found


def _for_children(connection: Connection, household: UUID, offer_id: str, on: date) -> dict[str, dict[str, Any]]:
    """By child what is not for it; a child for whom nothing can be told has the fault that says why."""
    try:
        audit = audit_for_family(connection, household, offer_id, on, max_changes=0)
    except LunchError as fault:
        found = page(connection, CHILD, household, None, MOST_CHILDREN)
        return {str(one.id): {**NOTHING, "fault": [fault]} for one in found}
    told = {one["id"]: _of_child(one) for one in audit["children"]}
    return told | {one["id"]: {**NOTHING, "fault": [one["fault"]]} for one in audit["faults"]}


def _own_amounts(offer: Mapping[str, Any] | None, child: str, found: Mapping[str, Any]) -> list[tuple[str, float, str]]:
    """What a child gets in an amount of its own, of the foods that are for it."""
    out = {*found["not_for"], *found["read_first"]}
    return [
        (item["name"], item["portions"][child], item["unit"])
        for group in (offer["groups"] if offer is not None else [])
        for item in group["items"]
        if child in item["portions"] and item["name"] not in out
    ]


def _of_child(row: Mapping[str, Any]) -> dict[str, Any]:
    out = {
        kind: [one["name"] for one in row["left_out"] if one["kind"] == kind] for kind in ("must_not", "check_label")
    }
    return {
        "not_for": list(dict.fromkeys(out["must_not"])),
        "read_first": list(dict.fromkeys(out["check_label"])),
        "cut": [(one["params"]["name"], one["params"]["form"]) for one in row["cut_for"]],
        "fault": [],
        "no_lunch": not row["total"],
    }
