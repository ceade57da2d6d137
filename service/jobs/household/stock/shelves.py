"""What stands on the shelves now: every entry of which there is anything, as it is shown in lists and on the page."""

from datetime import date
from uuid import UUID

from service.jobs.household.records import Body, shown
from service.jobs.household.stock.entries import beside_entry, today
from service.jobs.household.stock.happened import entries_here
from service.jobs.household.stock.known_foods import KnownFoods
from service.store.records import Connection


def entries_shown(connection: Connection, household: UUID, on: date | None = None) -> list[Body]:
    """In the order they were stored, each with its version and until when it keeps; ``on``: the day, today if left out."""
    foods, day = KnownFoods(connection, household), on or today()
    return [
        shown(one) | beside_entry(one.body, foods, day) | {"version": one.version}
        for one in entries_here(connection, household)
    ]
