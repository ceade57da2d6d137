"""Sum up a stored child's week: its lunches, those of the weeks before for the trend, and the household's prices."""

import re
from datetime import timedelta
from typing import Any
from uuid import UUID

from service.domain.errors import BadInput
from service.domain.messages import message
from service.jobs.household.lunch.judged_by import LoggedDays
from service.jobs.household.records import Resource, show_record
from service.jobs.household.requests import KeptLunch
from service.jobs.household.stored.kept_prices import kept_prices
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.household.stored.stored_ids import with_ids_resolved
from service.jobs.household.weeks.week_cost import cost_of_all
from service.jobs.requests.fields import ISO_WEEK
from service.jobs.weeks.requests import WeekWithIds, monday_of
from service.jobs.weeks.resolve import SinceLogged
from service.jobs.weeks.sum_up_week import sum_up_week
from service.reference.messages import listed_as, worded
from service.store.household.lunches import bodies_of_days
from service.store.household.records import Connection

WEEKS_BEFORE = 11
"""Weeks before the one asked for that are looked at for the trend; our choice."""


def child_week(connection: Connection, children: Resource, household: UUID, child_id: str, week: str) -> dict[str, Any]:
    """One child's week; ``NotThere`` for a child that is not here, ``BadInput`` for a week that is none."""
    reply = week_alone(connection, children, household, child_id, week)
    if reply["cost"] is not None:
        reply["cost"]["household"] = cost_of_all(connection, household, week)
    return reply


def week_alone(connection: Connection, children: Resource, household: UUID, child_id: str, week: str) -> dict[str, Any]:
    """The same without what the lunches of all children of the household cost together."""
    show_record(connection, children, household, child_id)
    if not re.match(ISO_WEEK, week):
        raise BadInput(pointer="/week", value=week, problem=message("fault.no-week"))
    first, last = monday_of(week) - timedelta(weeks=WEEKS_BEFORE), monday_of(week) + timedelta(days=6)
    lunches = bodies_of_days(connection, household, UUID(child_id), first, last)
    kept = KeptThings(connection, household)
    kept_child = kept.child(child_id, "/child")
    logged = LoggedDays(kept, kept_child, [KeptLunch.model_validate(one) for one in lunches])
    asked = WeekWithIds(child=child_id, week=week, days=logged.days)
    priced = asked.model_copy(update=kept_prices(connection, household, first, last, [child_id])._asdict())
    whole = with_ids_resolved(connection, household, priced)
    if week in logged.by_week:
        rules = logged.by_week[week]
        whole = whole.model_copy(update=rules._asdict())
    since = SinceLogged(logged.by_week, tuple(logged.edited), kept_child.vegetarian)
    return _with_corrections(sum_up_week(whole, since), logged, week)


def _with_corrections(reply: dict[str, Any], logged: LoggedDays, week: str) -> dict[str, Any]:
    """The summary with what is stored otherwise by now, as rows and among the notes."""
    corrections, birthday = logged.corrections(week), logged.birthday(week)
    notes = [one.said for one in corrections] + ([] if birthday is None else [birthday])
    said = listed_as("note", notes)
    return {
        **reply,
        **{name: [*texts, *reply[name]] for name, texts in said.items()},
        "corrections": [
            {
                "kind": one.kind,
                "food": one.food,
                "dates": [on.isoformat() for on in one.dates],
                "names": list(one.names),
                "allergens": list(one.allergens),
                "do_not_pack": one.do_not_pack,
                **worded(one.said),
            }
            for one in corrections
        ],
    }
