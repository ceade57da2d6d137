"""The household store of a running service: opened when first needed, closed with the service; and whose a key is."""

import re
import threading
from typing import NamedTuple
from uuid import UUID

from service.domain.errors import BadInput, StoreFault
from service.jobs.household.access.access_keys import recognise
from service.jobs.household.access.store import Store, open_household_store
from service.reference.fault_words import fault_words

SECRET = re.compile(rb"[A-Za-z0-9_-]{43}")
"""The form of a household key: 32 random bytes in base64url (RFC 4648 section 5) without padding."""


class Caller(NamedTuple):
    """Whose key a request carries, and what it allows (``keep``, ``pack`` or ``read``)."""

    household: UUID
    rights: str
    store: Store


class Households:
    """The store at an address, and the callers it knows."""

    def __init__(self, database_url: str) -> None:
        self._url = database_url
        self._store: Store | None = None
        self._lock = threading.Lock()

    def store(self) -> Store:
        """The store, opened if need be; not to be called from an event loop. ``StoreFault`` if it cannot be opened."""
        if self._store is None:
            with self._lock:
                if self._store is None:
                    try:
                        self._store = open_household_store(self._url)
                    except BadInput as fault:  # the setting is wrong, not the request
                        raise StoreFault(
                            pointer="", value="the store", problem="cannot be opened", remedy=fault_words(fault).remedy
                        ) from fault
        return self._store

    def close(self) -> None:
        """Close the store if it was opened; the next request for it opens it again."""
        with self._lock:
            if self._store is not None:
                self._store.close()
                self._store = None

    def caller(self, secret: bytes) -> Caller | None:
        """Whose key this is; None if it is nobody's, was revoked, or does not have the form of one."""
        if not SECRET.fullmatch(secret):
            return None
        store = self.store()
        key = recognise(store, secret.decode("ascii"))
        return None if key is None else Caller(key.household_id, key.rights, store)
