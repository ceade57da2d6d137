"""The household store of a running service: opened when first needed, closed with the service; and whose a key or device is."""

import threading
import time
from typing import NamedTuple
from uuid import UUID

from service.domain.errors import BadInput, StoreFault
from service.domain.messages import Message, message
from service.jobs.household.access.access_keys import has_ended, is_to_be_noted, note_key_use, recognise
from service.jobs.household.access.devices import Device, recognise_device
from service.jobs.household.access.secrets import has_form_of_secret
from service.jobs.household.access.store import Store, close_household_store, open_household_store

AGAIN_S = 1.0
"""How long a store that could not be opened is not tried again."""


class Caller(NamedTuple):
    """Whose key or device a request comes with, and what it allows.

    ``rights``: ``keep``, ``pack`` or ``read`` of a key; ``keep``, ``pack`` or ``take`` of a device. ``device``: the
    device that is signed in, with the child that it is for; None: the request carries a key. ``unnoted``: the key, where its
    use is still to be noted.
    """

    household: UUID
    rights: str
    store: Store
    device: Device | None = None
    unnoted: UUID | None = None


class KeyEnded(Exception):
    """The key is a household's, and the time that it was made for is over."""


class Households:
    """The store at an address, and the callers it knows."""

    def __init__(self, database_url: str) -> None:
        self._url = database_url
        self._store: Store | None = None
        self._lock = threading.Lock()
        self._fault: StoreFault | None = None
        self._again_at = 0.0

    def store(self) -> Store:
        """The store, opened if need be; not to be called from an event loop. ``StoreFault`` if it cannot be opened."""
        if self._store is None:
            with self._lock:
                if self._store is None:
                    if self._fault is not None and time.monotonic() < self._again_at:
                        raise self._fault  # those who waited meanwhile do not each try for seconds, one after the other
                    try:
                        self._store = open_household_store(self._url)
                    except BadInput as fault:  # the setting is wrong, not the request
                        remedy = Message(f"remedy.{fault.code}", fault.params)
                        problem = message("fault.store-not-opened", remedy=remedy)
                        raise self._remember(StoreFault(pointer="", value="the store", problem=problem)) from fault
                    except StoreFault as fault:
                        if "command" not in fault.problem.params:
                            raise self._remember(fault) from None
                        problem = message("fault.store-told-at-start")  # paths are for whoever sits at the computer
                        raise self._remember(StoreFault(pointer="", value="the store", problem=problem)) from fault
        return self._store

    def _remember(self, fault: StoreFault) -> StoreFault:
        self._fault, self._again_at = fault, time.monotonic() + AGAIN_S
        return fault

    def close(self) -> None:
        """Close the store if it was opened; the next request for it opens it again."""
        with self._lock:
            if self._store is not None:
                close_household_store(self._store)
                self._store = None

    def caller(self, secret: bytes) -> Caller | None:
        """Whose key this is; None if it is nobody's, was revoked, or does not have the form of one; ``KeyEnded`` if its time is over."""
        text = secret.decode("latin-1")
        if not has_form_of_secret(text):
            return None
        store = self.store()
        key = recognise(store, text)
        if key is None:
            return None
        if has_ended(key):
            raise KeyEnded
        return Caller(key.household_id, key.rights, store, unnoted=key.id if is_to_be_noted(key) else None)

    def note_use(self, key: UUID) -> None:
        """Note that a key was used, unless somebody else is writing just now: then another time."""
        note_key_use(self.store(), key)

    def signed_in(self, secret: bytes) -> Caller | None:
        """Whose device this is; None if it is nobody's, was signed out, or was not used for long."""
        text = secret.decode("latin-1")
        if not has_form_of_secret(text):
            return None
        store = self.store()
        device = recognise_device(store, text)
        return None if device is None else Caller(device.household_id, device.rights, store, device)
