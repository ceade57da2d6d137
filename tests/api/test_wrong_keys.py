"""Promise: wrong keys are counted by address and beginning, in bounded memory, exactly, whatever comes at once."""

import threading

import pytest

from service.api.gate.wrong_keys import MOST_COUNTERS, MOST_OF_A_KEY, MOST_OF_AN_ADDRESS, WINDOW_S, WrongKeys
from service.api.problems import ApiProblem

HERE, THERE = "192.0.2.7", "192.0.2.8"  # RFC 5737


class Clock:
    """Seconds that a test moves."""

    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


def waits(counted: WrongKeys, peer: str, key: bytes) -> int:
    """The seconds that a wrong key is told to wait; 0: none."""
    try:
        counted.wrong(peer, key)
    except ApiProblem as told:
        return int((told.headers or {})["Retry-After"])
    return 0


def test_tries_of_one_key_are_told_to_wait_before_those_of_others() -> None:
    """Ten that begin alike; another beginning, and another address, are answered as before."""
    counted = WrongKeys(Clock())
    assert [waits(counted, HERE, b"kitchen-door-1") for _ in range(MOST_OF_A_KEY)] == [0] * MOST_OF_A_KEY
    assert waits(counted, HERE, b"kitchen-door-2") == WINDOW_S
    assert waits(counted, HERE, b"garden-door") == 0
    assert waits(counted, THERE, b"kitchen-door-1") == 0


def test_an_address_is_told_to_wait_whatever_its_keys() -> None:
    """Thirty in a minute; from then on its look-ups are slowed, until the minute is over."""
    clock = Clock()
    counted = WrongKeys(clock)
    for number in range(MOST_OF_AN_ADDRESS):
        assert waits(counted, HERE, f"{number:06}".encode()) == 0
    assert not counted.slowed(HERE)
    assert waits(counted, HERE, b"another") == WINDOW_S
    assert counted.slowed(HERE)
    assert not counted.slowed(THERE)
    clock.now += WINDOW_S - 0.5
    assert waits(counted, HERE, b"one more") == 1
    clock.now += 0.5
    assert not counted.slowed(HERE)
    assert waits(counted, HERE, b"a new minute") == 0


def test_a_home_is_one_address() -> None:
    """The 64 bits of an IPv6 home (RFC 6177; RFC 3849), and IPv4 however it is written (RFC 4291 section 2.5.5.2)."""
    counted = WrongKeys(Clock())
    for number in range(MOST_OF_AN_ADDRESS):
        counted.wrong(f"2001:db8::{number + 1:x}", f"{number:06}".encode())
    assert waits(counted, "2001:db8::ffff", b"another") > 0
    assert waits(counted, "2001:db8:0:1::1", b"another") == 0
    for number in range(MOST_OF_AN_ADDRESS):
        counted.wrong("::ffff:192.0.2.7", f"{number:06}".encode())
    assert waits(counted, HERE, b"another") > 0


def test_memory_is_bounded() -> None:
    """Ten times as many addresses as there are counters."""
    counted = WrongKeys(Clock())
    for number in range(MOST_COUNTERS * 10):
        counted.wrong(f"10.{number >> 16}.{number >> 8 & 255}.{number & 255}", b"x")
    assert len(counted) == MOST_COUNTERS


def test_the_count_is_exact_at_once() -> None:
    """Forty threads with the same wrong key: ten are answered, thirty told to wait."""
    for _ in range(20):
        counted = WrongKeys(Clock())
        start = threading.Barrier(40)
        told: list[int] = []

        def one(start: threading.Barrier = start, told: list[int] = told, counted: WrongKeys = counted) -> None:
            start.wait()
            told.append(waits(counted, HERE, b"the same"))

        threads = [threading.Thread(target=one) for _ in range(40)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert sorted(map(bool, told)) == [False] * 10 + [True] * 30


@pytest.mark.parametrize("peer", ["", "unknown", "x" * 5000, "fe80::1%eth0"])
def test_what_is_no_address_is_counted_too(peer: str) -> None:
    """A local socket has none."""
    counted = WrongKeys(Clock())
    for _ in range(MOST_OF_A_KEY):
        counted.wrong(peer, b"x")
    assert waits(counted, peer, b"x") > 0
