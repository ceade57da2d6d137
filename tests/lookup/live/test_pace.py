"""Promise: the source is not asked while a key has few questions left, nor for a while after it said that there were too many."""

import pytest

from service.lookup.live.pace import COUNTED_FOR, FEWEST_LEFT, Pace


def pace_at(moment: list[float]) -> Pace:
    """A pace whose clock shows the one number of a list."""
    return Pace(lambda: moment[0])


@pytest.mark.parametrize(("left", "stops"), [(FEWEST_LEFT + 1, False), (FEWEST_LEFT, True), (0, True)])
def test_it_stops_at_the_floor_for_an_hour(left: int, stops: bool) -> None:
    moment = [100.0]
    pace = pace_at(moment)
    assert not pace.at_floor()
    pace.heard(200, {"X-RateLimit-Remaining": str(left)})
    assert pace.at_floor() is stops
    moment[0] += COUNTED_FOR
    assert not pace.at_floor()


@pytest.mark.parametrize(
    ("said", "seconds"),
    [("30", 30.0), ("", COUNTED_FOR), ("Wed, 21 Oct 2026 07:28:00 GMT", COUNTED_FOR), ("999999", COUNTED_FOR)],
)
def test_after_a_429_it_waits_as_it_was_told(said: str, seconds: float) -> None:
    moment = [100.0]
    pace = pace_at(moment)
    pace.heard(429, {"Retry-After": said})
    moment[0] += seconds - 1
    assert pace.at_floor()
    moment[0] += 1
    assert not pace.at_floor()


def test_an_answer_without_the_header_changes_nothing() -> None:
    pace = pace_at([100.0])
    pace.heard(200, {"X-RateLimit-Remaining": "3"})
    pace.heard(500, {})
    assert pace.at_floor()
