"""The clock of the server, moved while it runs."""

import time
from pathlib import Path

SEEN_AFTER = 3.0
"""Seconds after which every process has surely seen that it was set right."""


class Clock:
    """``moved``: how often it was moved; ``is_off``: whether it is off now."""

    def __init__(self, file: Path) -> None:
        self.file = file
        self.moved = 0
        self._off_until = 0.0

    @property
    def is_off(self) -> bool:
        """Whether a server may still go by another clock."""
        return time.monotonic() < self._off_until

    @property
    def state(self) -> tuple[int, bool]:
        """How often it was moved, and whether it is off: the same before and after a request, it did not change meanwhile."""
        return self.moved, self.is_off

    def move(self, offset: str) -> None:
        """Set it off by an offset in the words of libfaketime: ``+2h``, ``-40d``."""
        self.file.write_text(f"{offset}\n")
        self.moved += 1
        self._off_until = float("inf")

    def right(self) -> None:
        """Set it right again."""
        self.file.write_text("+0\n")
        self.moved += 1
        self._off_until = time.monotonic() + SEEN_AFTER
