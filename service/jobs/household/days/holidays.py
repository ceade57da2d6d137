"""Days from Monday to Friday without school, as the stored plans have them."""

from datetime import date, timedelta
from uuid import UUID

from service.store.household.kinds import PLAN
from service.store.household.records import Connection, page

MOST_PLANS = 500
A_DAY = timedelta(days=1)


def holidays_of(connection: Connection, household: UUID) -> frozenset[date]:
    """The days without school from the first to the last day of a plan; of several plans that span a day the newest says so."""
    school: dict[date, bool] = {}
    for record in page(connection, PLAN, household, None, MOST_PLANS):
        days = [date.fromisoformat(one) for one in record.body["asked"]["days"]]
        span = (min(days) + A_DAY * number for number in range((max(days) - min(days)).days + 1))
        school |= {day: day in days for day in span}
    return frozenset(day for day, there in school.items() if not there)
