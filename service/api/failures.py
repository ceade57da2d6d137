"""How often unknown keys came from an address: guessing is slowed down to a few tries a minute."""

import math
import time

from limits import parse
from limits.storage import MemoryStorage
from limits.strategies import MovingWindowRateLimiter

from service.api.problems import ApiProblem


class Failures:
    """Counts failures by address, in memory; a limit in the notation of the library, e.g. ``10/minute``."""

    def __init__(self, limit: str) -> None:
        self._limit = parse(limit)
        self._window = MovingWindowRateLimiter(MemoryStorage())

    def count(self, address: str) -> None:
        """One more failure from an address."""
        self._window.hit(self._limit, address)

    def too_many(self, address: str) -> bool:
        """Whether as many failures as are let through came from an address: its next key is not even looked at."""
        return not self._window.test(self._limit, address)

    def problem(self, address: str) -> ApiProblem:
        """The problem for an address of which too many came, with the time until the next try."""
        stats = self._window.get_window_stats(self._limit, address)
        wait = max(1, math.ceil(stats.reset_time - time.time()))
        return ApiProblem(
            "too-many-failures",
            f"Too many unknown access keys came from this address. Try again in {wait} seconds.",
            {"Retry-After": str(wait)},
        )
