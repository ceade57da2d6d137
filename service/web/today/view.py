"""What today's page shows: each child's lunch of the day, and what is to be done now."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from service.jobs.household.kinds import CHILDREN, LUNCHES
from service.jobs.household.lunches import lunches_of
from service.jobs.household.records import Connection, list_records
from service.web.viewer import Viewer


@dataclass(frozen=True)
class ChildToday:
    """One child's row. ``state``: ``nothing_yet``, ``packed``, ``bought`` or ``none``; ``what``: what was taken, in words."""

    id: str
    nickname: str
    state: str
    what: str


@dataclass(frozen=True)
class TodayView:
    """The context of ``today/today.html``."""

    day: str
    children: list[ChildToday]
