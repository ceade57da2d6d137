"""How often the source may be asked: it says with each answer how many questions a key has left."""

from collections.abc import Callable, Mapping
from threading import Lock
from time import monotonic

FEWEST_LEFT = 10
"""So many questions are left to the key, for whatever else it is used for."""
COUNTED_FOR = 3600.0
"""Seconds: the source counts the questions of an hour (https://api.data.gov/docs/developer-manual/)."""


class Pace:
    """What is left of one key. Kept in memory only; many threads may use it."""

    def __init__(self, clock: Callable[[], float] = monotonic) -> None:
        self._clock = clock
        self._lock = Lock()
        self._left: int | None = None
        self._until = 0.0

    def heard(self, status: int, headers: Mapping[str, str]) -> None:
        """Note what an answer says: the questions left, and after a 429 for how long nothing is to be asked."""
        left = headers.get("X-RateLimit-Remaining", "")
        with self._lock:
            if status == 429:
                wait = headers.get("Retry-After", "")
                seconds = float(wait) if wait.isdecimal() else COUNTED_FOR
                self._left, self._until = 0, self._clock() + min(seconds, COUNTED_FOR)
            elif left.isdecimal():
                self._left, self._until = int(left), self._clock() + COUNTED_FOR

    def at_floor(self) -> bool:
        """Whether so few questions are left that none is to be asked now."""
        with self._lock:
            return self._left is not None and self._left <= FEWEST_LEFT and self._clock() < self._until
