"""Records deleted for good: once the deletion is stored, nothing of it is left behind in the files of the store."""

from uuid import UUID

from service.jobs.household.kinds import CHILDREN, FOODS, PACKETS, RECIPES
from service.jobs.household.records import Matches, Resource, remove_record
from service.store.database import Store
from service.store.wiping import wipe

AT_ONCE = (CHILDREN, FOODS, PACKETS, RECIPES)
"""Kinds that say who a child is or what a label says. What another kind leaves behind goes at the next chance: the store is
written anew for it, which a child's tap on "undo" should not wait for."""


def remove_for_good(store: Store, household: UUID, resource: Resource, record_id: str, matches: Matches) -> None:
    """Delete a record with all that belongs to it; raises what ``remove_record`` raises, and then nothing is deleted."""
    with store.writing() as connection:
        remove_record(connection, resource, household, record_id, matches)
    if resource in AT_ONCE:
        wipe(store)
