"""The days of a stored plan as a calendar asks for them: prep days, evenings, bought lunches, packets to read."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from service.jobs.household.from_plan.planned import StoredPlan
from service.jobs.household.from_plan.shopping import shopping_asked
from service.jobs.plan.calendar.requests import CalendarRequest
from service.jobs.plan.shopping.shopping_list import shopping_list
from service.store.household.records import Connection

Reply = Mapping[str, Any]


def calendar_asked(
    connection: Connection, household: UUID, plan: StoredPlan, *, with_health: bool = False
) -> CalendarRequest:
    """The calendar of a plan; ``with_health``: with whom packets are read for, and what is looked for."""
    reply = plan.reply()
    asked = shopping_asked(connection, household, plan)
    reads: dict[str, list[Reply]] = {}
    if asked is not None:
        for one in shopping_list(asked.asked)["packets_to_read"]:
            reads.setdefault(min(line.partition(":")[0] for line in one["lines"]), []).append(one)
    return CalendarRequest.model_validate(
        {
            "calendar": plan.id,
            "title": plan.name,
            "with_health": with_health,
            "prep_days": [
                {"on": day, "batches": [f"{one['portions']:g} x {one['name']}"[:120] for one in some]}
                for day, some in _by(reply["batches"], "made_on").items()
            ],
            "move_tonight": [
                {"on": day, "what": [{"name": one["name"][:120], "portions": one["portions"]} for one in some]}
                for day, some in _by(reply["moves"], "evening").items()
            ],
            "bought_days": [{"on": day["day"], "child": name[:40]} for day in reply["days"] for name in day["buyers"]],
            "read_packets": [
                {
                    "on": day,
                    "foods": [one["name"] for one in some],
                    "children": list(dict.fromkeys(name for one in some for name in one["children"])),
                    "allergens": list(dict.fromkeys(name for one in some for name in one["allergens"])),
                }
                for day, some in reads.items()
            ],
        },
        strict=False,
    )


def _by(rows: list[Reply], name: str) -> dict[str, list[Reply]]:
    found: dict[str, list[Reply]] = {}
    for one in rows:
        found.setdefault(one[name], []).append(one)
    return found
