"""Lunches of a household's children."""

from typing import Annotated, Any

from pydantic import Field

from service.api.household.record_routes import PageQuery, Words, record_routes
from service.jobs.household.kinds import LUNCHES
from service.jobs.household.lunches import lunches_of
from service.jobs.requests import KeptId
from service.jobs.weeks.requests import Week


class LunchQuery(PageQuery):
    """Which lunches."""

    child: KeptId | None = Field(None, description="Only those of this child.")
    week: Annotated[Week, Field(description="Only those of this ISO week, e.g. 2026-W49.")] | None = None


def _where(asked: Any) -> list[Any]:
    return lunches_of(asked.child, asked.week)


ROUTES = record_routes(
    LUNCHES,
    Words(
        "/v1/lunches", "lunch_id", "lunch", "lunches", "LoggedLunch",
        "What a child had on a day: packed, bought at school, or none. A packed lunch is checked and screened, and the "
        "answer tells what was found; one that must not be packed needs acknowledged.reason, which is kept.",
    ),
    query=LunchQuery,
    where=_where,
)  # fmt: skip
