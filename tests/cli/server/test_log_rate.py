"""Promise: a line that repeats is logged so many times a minute, and how many were left out is said."""

import logging

from service.cli.server.log_rate import PERIOD_S, LogRate


def line(number: int) -> logging.LogRecord:
    """A line of a place in the code."""
    return logging.LogRecord("packed_lunch", logging.WARNING, "a.py", number, "said %d", (number,), None)


def test_lines_of_one_kind_are_bounded_and_counted() -> None:
    """Another kind is not held back by it; in the next minute the count is told once."""
    now = [0.0]
    rate = LogRate(2, lambda: now[0])
    assert [rate.filter(line(1)) for _ in range(5)] == [True, True, False, False, False]
    assert rate.filter(line(2))
    now[0] = PERIOD_S
    first, second = line(1), line(1)
    assert rate.filter(first)
    assert rate.filter(second)
    assert first.getMessage() == "said 1 (3 lines left out before this one)"
    assert second.getMessage() == "said 1"
