"""A bounded log: so many lines of one kind a minute, then how many were left out."""

import logging
import time
from collections.abc import Callable

PERIOD_S = 60
MOST_KINDS = 500
"""Kinds of line that are counted apart; more of them share one count."""
LOGGERS = ("packed_lunch", "uvicorn.error", "asyncio")
"""Whatever an asker can make write."""


class LogRate(logging.Filter):
    """Lets through ``most`` lines of one kind a minute; the first of the next minute says how many were left out.

    A kind is the place in the code that logs: what stands in the line may differ with each asker.
    """

    def __init__(self, most: int, clock: Callable[[], float] = time.monotonic) -> None:
        super().__init__()
        self._most, self._clock = most, clock
        self._begun = clock()
        self._seen: dict[tuple[str, int], int] = {}
        self._left_out = 0

    def filter(self, record: logging.LogRecord) -> bool:
        """Whether the line is logged; one after others that were not says how many they were."""
        now, left_out = self._clock(), 0
        if now - self._begun >= PERIOD_S:
            left_out, self._left_out = self._left_out, 0
            self._begun, self._seen = now, {}
        kind = (record.pathname, record.lineno)
        if kind not in self._seen and len(self._seen) >= MOST_KINDS:
            kind = ("", 0)
        seen = self._seen[kind] = self._seen.get(kind, 0) + 1
        if seen > self._most:
            self._left_out += 1
            return False
        if left_out:
            record.msg, record.args = f"{record.getMessage()} ({left_out} lines left out before this one)", ()
        return True


def bound_log(most: int) -> LogRate:
    """Bound what those who ask can make the service log; the filter, which counts all its loggers together."""
    rate = LogRate(most)
    for name in LOGGERS:
        logging.getLogger(name).addFilter(rate)
    return rate
