"""How a command that runs for long is stopped."""

import logging
import os
import signal
import sys
import threading
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


def leave_undone() -> None:
    """End the process where threads still work, which Python would wait for: whoever asked is gone, and the store keeps nothing that is half written."""
    if any(one.is_alive() and not one.daemon for one in threading.enumerate() if one is not threading.main_thread()):
        logging.shutdown()
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(0)
