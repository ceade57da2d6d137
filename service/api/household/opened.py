"""The household store of an application: opened with the first request that needs it, closed with the application.

Also tells whose key a request carries, and counts the failures. Nothing here is loaded before it is needed: a start
without household requests knows nothing of a database.
"""

import logging
import re
import threading
from typing import TYPE_CHECKING, Any, NamedTuple

import anyio.to_thread

from service.api.problems import ApiProblem
from service.domain.errors import BadInput, StoreFault

if TYPE_CHECKING:
    from uuid import UUID

    from service.store.database import Store

log = logging.getLogger("packed_lunch")
SECRET = re.compile(rb"[A-Za-z0-9_-]{43}")
"""The form of a household key: 32 random bytes in base64url (RFC 4648 section 5) without padding."""
MOST_FAILURES = "10/minute"


class Caller(NamedTuple):
    """Whose key a request carries, and what it allows."""

    household: "UUID"
    rights: str
    store: "Store"


class Households:
    """The store at an address, and the callers it knows."""

    def __init__(self, database_url: str) -> None:
        self._url = database_url
        self._store: Store | None = None
        self._lock = threading.Lock()
        self._failures: Any = None

    def store(self) -> "Store":
        """The store, opened if need be; not to be called from the event loop."""
        if self._store is None:
            with self._lock:
                if self._store is None:
                    from service.store.database import default_url
                    from service.store.migrate import open_store

                    try:
                        self._store = open_store(self._url or default_url())
                    except BadInput as fault:  # the setting is wrong, not the request
                        raise StoreFault(
                            pointer="", value="the store", problem="cannot be opened", remedy=fault.remedy
                        ) from fault
        return self._store

    def close(self) -> None:
        """Close the store if it was opened; the next request for it opens it again."""
        with self._lock:
            if self._store is not None:
                self._store.close()
                self._store = None

    async def caller(self, secret: bytes, address: str) -> Caller:
        """Whose key this is; ``ApiProblem`` if it is nobody's, or after too many such keys from one address."""
        if self.shut_out(address):
            raise self._failures.problem(address)
        found = await anyio.to_thread.run_sync(self._recognise, secret) if SECRET.fullmatch(secret) else None
        if found is None:
            self.failed(address)
            raise ApiProblem(
                "access-key-refused",
                "The access key in Authorization is not known, or was revoked. Ask whoever runs this service for one.",
                {"WWW-Authenticate": "Bearer"},
            )
        return found

    def shut_out(self, address: str) -> bool:
        """Whether so many unknown keys came from an address that its next is not looked at."""
        return self._failures is not None and self._failures.too_many(address)

    def failed(self, address: str) -> None:
        """Count a key that nobody has."""
        if self._failures is None:
            from service.api.household.failures import Failures

            self._failures = Failures(MOST_FAILURES)
        self._failures.count(address)
        log.warning("an unknown access key was refused")

    def _recognise(self, secret: bytes) -> Caller | None:
        from service.jobs.household.access_keys import recognise

        store = self.store()
        key = recognise(store, secret.decode("ascii"))
        return None if key is None else Caller(key.household_id, key.rights, store)
