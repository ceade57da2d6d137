"""What a household knows of foods, for a table of lunches in a file: its days are not known before it is read."""

from collections.abc import Sequence
from datetime import date, timedelta
from uuid import UUID

from service.domain.foods.packets import KnownOfFoods
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.household.stored.resolving import packets_beside
from service.jobs.requests.foods import LONGEST_HELD, Packet
from service.jobs.tables.request import known_of_foods
from service.store.household.records import Connection

ANY_DAY = (date.min + timedelta(days=LONGEST_HELD), date.max)


def known_to_household(
    connection: Connection, household: UUID, sent: Sequence[Packet], salted_water: bool | None
) -> KnownOfFoods:
    """Its packets of any day beside those sent, and what it says of its cooking water where nothing else is said.

    Raises as ``known_of_foods``.
    """
    kept = KeptThings(connection, household)
    salted = kept.salts_cooking_water() if salted_water is None else salted_water
    return known_of_foods([*sent, *packets_beside(kept, sent, *ANY_DAY)], salted)
