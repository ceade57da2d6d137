"""What is set out on a day, and who buys at school then."""

from datetime import date
from uuid import UUID

from service.store.records import Connection
from service.store.school_days import school_day_on


def offer_of_day(connection: Connection, household: UUID, on: date) -> str | None:
    """The id of the offer that is set out on a day; None where none is."""
    found = school_day_on(connection, household, on)
    return None if found is None else found.body.get("offer")
