"""Remove the lunches that households have kept as long as they said."""

from datetime import date
from typing import NamedTuple
from uuid import UUID

from service.store.database import Store
from service.store.households import all_households
from service.store.retention import first_day_kept, remove_lunches_before, remove_old_replies, retention_months


class Purged(NamedTuple):
    """What a purge did for a household: lunches before the day are gone."""

    household: UUID
    first_day_kept: date
    removed: int


def purge(store: Store, today: date) -> list[Purged]:
    """Remove what is older than each household's retention on a day, and old replies, all in one transaction."""
    done = []
    with store.writing() as connection:
        remove_old_replies(connection)
        for household, body in all_households(connection):
            first = first_day_kept(today, retention_months(body))
            done.append(Purged(household, first, remove_lunches_before(connection, household, first)))
    return done
