"""Days from Monday to Friday without school, as the stored plans have them."""

from collections.abc import Sequence
from datetime import date, timedelta

from service.store.household.records import Record

A_DAY = timedelta(days=1)


def holidays_of(plans: Sequence[Record]) -> frozenset[date]:
    """The days without school from the first to the last day of a plan that was set out; one that was not is a trial.

    Of several plans that span a day the one that was set out last says so, and of those of one day the newest.
    """
    in_force = sorted((one.body for one in plans if one.body.get("set_out_on")), key=lambda body: body["set_out_on"])
    school: dict[date, bool] = {}
    for body in in_force:
        days = [date.fromisoformat(one) for one in body["asked"]["days"]]
        span = (min(days) + A_DAY * number for number in range((max(days) - min(days)).days + 1))
        school |= {day: day in days for day in span}
    return frozenset(day for day, there in school.items() if not there)
