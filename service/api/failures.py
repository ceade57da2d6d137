"""How often unknown keys came from an address: guessing is slowed down to a few tries a minute."""

import math
import time
from functools import cached_property
from typing import Any

from service.api.problems import ApiProblem
from service.domain.messages import message


class Failures:
    """Counts failures by address, in memory; a limit in the notation of the library, e.g. ``10/minute``."""

    def __init__(self, limit: str) -> None:
        self._text = limit
        self._counted = False

    @cached_property
    def _limit(self) -> Any:
        from limits import parse

        return parse(self._text)

    @cached_property
    def _window(self) -> Any:
        """Loaded with the first failure: the library brings all of its storages along, a tenth of a second."""
        from limits.storage import MemoryStorage
        from limits.strategies import MovingWindowRateLimiter

        return MovingWindowRateLimiter(MemoryStorage())

    def count(self, address: str) -> None:
        """One more failure from an address."""
        self._counted = True
        self._window.hit(self._limit, address)

    def too_many(self, address: str) -> bool:
        """Whether as many failures as are let through came from an address: its next key is not even looked at."""
        if not self._counted or self._window.test(self._limit, address):
            return False
        left = self._window.get_window_stats(self._limit, address).reset_time - time.time()
        if left <= self._limit.get_expiry():
            return True
        self._window.clear(
            self._limit, address
        )  # the clock was set back: it would be shut out until its old time comes again
        return False

    def problem(self, address: str) -> ApiProblem:
        """The problem for an address of which too many came, with the time until the next try."""
        stats = self._window.get_window_stats(self._limit, address)
        wait = max(1, math.ceil(stats.reset_time - time.time()))
        said = message("fault.too-many-unknown-keys", seconds=wait)
        return ApiProblem("too-many-failures", said, {"Retry-After": str(wait)})
