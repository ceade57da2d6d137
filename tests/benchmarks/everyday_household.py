"""The everyday family of ``offers`` as a stored household: its offer is set out today, and a parent's device is signed in."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from pydantic_core import to_json

from service.jobs.household.access.access_keys import NewKey, make_key
from service.jobs.household.access.households import today
from service.jobs.household.access.sign_in_links import NewLink, make_link, redeem
from service.jobs.household.access.store import open_household_store
from service.jobs.household.kinds import CHILDREN, OFFERS, PACKETS, SCHOOL_DAYS
from service.jobs.household.records import Connection, Resource, keep_record, read_asked
from service.jobs.household.settings import HouseholdSettings
from service.store.access.households import create_household
from tests.benchmarks.offers import CHILDREN as FAMILY
from tests.benchmarks.offers import GROUPS, READ


@dataclass(frozen=True)
class EverydayHousehold:
    """Ids of what is stored; ``device``: the secret in a parent's cookie, ``key``: an access key."""

    household: UUID
    offer: str
    children: tuple[str, ...]
    device: str
    key: str


KEPT_COLD = {"insulated": True, "cold_sources": 2}
"""How lunches are kept: where it is not said every lunch depends on it, and no changes are looked for."""


def keep_everyday_household(database_url: str, holding: Mapping[str, Any] | None = KEPT_COLD) -> EverydayHousehold:
    """Store the family: four children, nine packets read, an offer of 4,320 lunches, set out today."""
    on = today()
    store = open_household_store(database_url)
    try:
        with store.writing() as connection:
            household = create_household(
                connection, HouseholdSettings.model_validate({"holding": holding}).model_dump(mode="json")
            )
            children = [_keep(connection, household, CHILDREN, _child(one, on)) for one in FAMILY]
            for food in READ:
                read = {"allergen": "peanut", "level": "not_named"}
                _keep(connection, household, PACKETS, {"food": food, "read_on": on.isoformat(), "allergens": [read]})
            groups = [{"id": name, "items": list(items)} for name, items in GROUPS]
            offer = _keep(connection, household, OFFERS, {"name": "usual mornings", "groups": groups})
            _keep(connection, household, SCHOOL_DAYS, {"date": on.isoformat(), "offer": offer})
            _shown, key = make_key(connection, household, NewKey(name="a program", rights="keep"))
            link = make_link(connection, household, NewLink(name="a parent's", rights="keep"))
        signed_in = redeem(store, link.secret)
        assert signed_in is not None
        return EverydayHousehold(household, offer, tuple(children), signed_in.secret, key)
    finally:
        store.close()


def _child(one: dict[str, Any], on: date) -> dict[str, Any]:
    """A child of the request as a stored one: born so many years before the day."""
    born = f"{on.year - one['age_years']}-{on.month:02}"
    return {**{name: value for name, value in one.items() if name != "age_years"}, "birth_month": born}


def _keep(connection: Connection, household: UUID, resource: Resource, body: dict[str, Any]) -> str:
    kept = keep_record(connection, resource, household, read_asked(resource, to_json(body)), None)
    return str(kept.record.id)
