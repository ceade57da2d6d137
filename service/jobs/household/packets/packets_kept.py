"""The packets that a household has read: all of them or those searched for, how long each holds, and what to read again."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any, NamedTuple
from uuid import UUID

from service.jobs.household.foods.search import household_foods_of_ids, matches_name
from service.store.household.kinds import PACKET
from service.store.household.records import Connection, Record, page

MOST_PACKETS = 5_000
SOON = 14
"""Days before a packet ends from which it is named as due: our choice, two weeks of shopping."""


class _Packet(NamedTuple):
    record: Record
    food: str
    read_on: date
    until: date
    days: int

    def holds_on(self, day: date) -> bool:
        return self.read_on <= day <= self.until


def packets_kept(connection: Connection, household: UUID, on: date, query: str = "") -> dict[str, Any]:
    """All packets, or those whose food's name or GTIN is asked for, by name, the newest of a food first.

    ``total``: how many there are without the query. ``state`` of each: ``holds``, ``soon`` (it ends within 14 days),
    ``over``, ``replaced`` (a newer one of the food is used) or ``later`` (read on a day to come). ``due``: those to be read
    again, the most urgent first: ``soon`` and ``over``, without packets that were read for one packet only.
    """
    packets = [_packet(one) for one in page(connection, PACKET, household, None, MOST_PACKETS)]
    names = _names(connection, household, [one.food for one in packets])
    states = _states(packets, on)
    rows: list[dict[str, Any]] = [
        {
            "id": str(one.record.id),
            "food": one.food,
            "name": str(names[one.food]["name"]),
            "category": names[one.food]["category"],
            "gtin": one.record.body.get("gtin"),
            "read_on": one.read_on.isoformat(),
            "holds_until": one.until.isoformat(),
            "this_packet_only": one.days == 0,
            "state": states[one.record.id],
        }
        for one in packets
    ]
    rows.sort(key=lambda row: row["read_on"], reverse=True)
    rows.sort(key=lambda row: row["name"].casefold())
    due = [row for row in rows if row["state"] in ("soon", "over") and not row["this_packet_only"]]
    return {
        "on": on.isoformat(),
        "total": len(rows),
        "items": [row for row in rows if _found(row, query)],
        "due": sorted(due, key=lambda row: row["holds_until"]),
    }


def packet_kept(connection: Connection, household: UUID, packet_id: UUID, on: date) -> dict[str, Any]:
    """One packet as it stands in the list of all; it must be there."""
    rows = packets_kept(connection, household, on)["items"]
    return next(row for row in rows if row["id"] == str(packet_id))


def _packet(record: Record) -> _Packet:
    read_on, days = date.fromisoformat(record.body["read_on"]), record.body["holds_for_days"]
    return _Packet(record, record.body["food"], read_on, read_on + timedelta(days=days), days)


def _names(connection: Connection, household: UUID, foods: Sequence[str]) -> dict[str, dict[str, str]]:
    found = household_foods_of_ids(connection, household, foods)["items"]
    unknown = {food: {"name": food, "category": ""} for food in foods}  # a food that the tables no longer have
    return unknown | {row["id"]: row for row in found}


def _states(packets: Sequence[_Packet], on: date) -> dict[UUID, str]:
    """Of each packet what it is on a day; of a food one packet is used, or the newest is the one to read again."""
    states: dict[UUID, str] = {}
    by_food: dict[str, list[_Packet]] = {}
    for one in sorted(packets, key=lambda one: one.read_on, reverse=True):
        by_food.setdefault(one.food, []).append(one)
    for of_food in by_food.values():
        used = next((one for one in of_food if one.holds_on(on)), None)
        speaks = used or next((one for one in of_food if one.read_on <= on and one.days), None)
        for one in of_food:
            if one.read_on > on:
                states[one.record.id] = "later"
            elif one is used:
                states[one.record.id] = "soon" if one.days and one.until - on <= timedelta(days=SOON) else "holds"
            else:
                states[one.record.id] = "over" if one is speaks or one.days == 0 else "replaced"
    return states


def _found(row: dict[str, Any], query: str) -> bool:
    digits = "".join(query.split())
    if digits.isdigit() and len(digits) >= 4:
        return row["gtin"] is not None and digits.lstrip("0") in row["gtin"]
    return matches_name(row["name"], query)
