"""An address that is shut out for a minute is not shut out for years where the clock is set back meanwhile."""

from datetime import UTC, datetime, timedelta

import time_machine

from service.api.failures import Failures

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


def test_a_clock_that_is_set_back_shuts_nobody_out() -> None:
    """Ten tries and a minute by any clock; after a leap back by two years it begins anew."""
    failures = Failures("3/minute")
    with time_machine.travel(NOON + timedelta(731), tick=False):
        for _ in range(3):
            assert not failures.too_many("here")
            failures.count("here")
        assert failures.too_many("here")
    with time_machine.travel(NOON, tick=False):
        assert not failures.too_many("here")
        for _ in range(3):
            failures.count("here")
        assert failures.too_many("here")
    with time_machine.travel(NOON + timedelta(seconds=61), tick=False):
        assert not failures.too_many("here")
