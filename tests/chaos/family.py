"""Who is written about: a household with its key and a device, and empty ones for what is imported."""

import hashlib
import hmac
from contextlib import closing
from dataclasses import dataclass
from datetime import timedelta
from uuid import UUID

from service.api.gate.device_cookie import COOKIE
from service.jobs.household.settings import HouseholdSettings
from service.store.access.devices import create_device
from service.store.access.households import create_household, create_key
from service.store.household.records import Connection, now
from service.store.migrate import open_store
from service.web.viewer import TOKEN_FOR

EMPTY = 24
"""Households that an export is taken into, one after the other."""


@dataclass(frozen=True)
class Device:
    """A device that is signed in: its household, and the secret in its cookie."""

    household: UUID
    secret: str

    @property
    def token(self) -> str:
        """What its forms carry."""
        return hmac.new(self.secret.encode(), TOKEN_FOR, hashlib.sha256).hexdigest()

    @property
    def headers(self) -> dict[str, str]:
        """What its browser sends along."""
        return {"Cookie": f"{COOKIE}={self.secret}", "Accept": "text/html", "Sec-Fetch-Site": "same-origin"}


@dataclass(frozen=True)
class Family:
    """The household that is written about, and the empty ones."""

    household: UUID
    key: str
    device: Device
    empty: list[Device]


def new_family(url: str, empty_ones: int = EMPTY) -> Family:
    """Make them in a new store."""
    with closing(open_store(url)) as store, store.writing() as connection:
        household = create_household(connection, HouseholdSettings().model_dump(mode="json"))
        _key, secret = create_key(connection, household, "chaos", "keep")
        device = _device(connection, household)
        empty = [
            _device(connection, create_household(connection, HouseholdSettings().model_dump(mode="json")))
            for _ in range(empty_ones)
        ]
    return Family(household, secret, device, empty)


def _device(connection: Connection, household: UUID) -> Device:
    moment = now()
    _made, secret = create_device(connection, household, "tablet", "keep", None, moment, moment + timedelta(days=90))
    return Device(household, secret)
