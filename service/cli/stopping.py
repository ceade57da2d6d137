"""How a command that runs for long is stopped."""

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

STOPPED = 130
"""The exit code of a command that was stopped."""


@contextmanager
def ended_by_signals() -> Iterator[None]:
    """Let a request to end (SIGTERM) clean up as Ctrl+C does."""

    def end(_number: int, _frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, end)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)
