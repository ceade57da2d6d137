"""Promise: when there is a connection too many, the right one goes."""

from typing import Any

import pytest

from service.cli.server.connections import Door, Limits


class Connection:
    """What the door looks at of a connection."""

    def __init__(
        self, address: str, since: float = 0.0, *, at_work: bool = False, body_is_coming: bool = False
    ) -> None:
        self.address, self.since, self.at_work, self.body_is_coming = address, since, at_work, body_is_coming
        self.gone = False
        self.transport = self

    def abort(self) -> None:
        """It is closed."""
        self.gone = True


def inside(limits: Limits, *connections: Any) -> list[bool]:
    """Which of them are still there when all have come."""
    door = Door(limits)
    for one in connections:
        door.come(one)
    return [not one.gone for one in connections]


def test_the_one_that_rests_longest_goes_before_a_body_that_comes() -> None:
    """And none whose request is being answered."""
    crowd = [
        Connection("a", 1, at_work=True), Connection("a", 2, body_is_coming=True), Connection("a", 4), Connection("a", 3),
        Connection("a", 5),
    ]  # fmt: skip
    assert inside(Limits(100, 4, 1, 1), *crowd) == [True, True, True, False, True]


def test_a_body_that_comes_goes_where_nothing_rests() -> None:
    """Trickling does not protect."""
    crowd = [Connection("a", 1, at_work=True), Connection("a", 2, body_is_coming=True), Connection("a", 3)]
    assert inside(Limits(100, 2, 1, 1), *crowd) == [True, False, True]


def test_the_new_one_goes_where_all_are_at_work() -> None:
    """Work that was begun is done."""
    crowd = [Connection("a", at_work=True), Connection("a", at_work=True), Connection("a", 3)]
    assert inside(Limits(100, 2, 1, 1), *crowd) == [True, True, False]


def test_of_all_the_address_with_most_loses_one() -> None:
    """A household of two connections is not touched by a stranger's hundreds."""
    strangers = [Connection("stranger", number) for number in (1, 2, 3)]
    crowd = [Connection("family", 0), *strangers, Connection("family", 4)]
    assert inside(Limits(4, 4, 1, 1), *crowd) == [True, False, True, True, True]


@pytest.mark.parametrize(("behind_proxy", "left"), [(False, 2), (True, 5)])
def test_behind_a_proxy_this_machine_is_everybody(behind_proxy: bool, left: int) -> None:
    """Its connections then count in all only."""
    crowd = [Connection("127.0.0.1", number) for number in range(5)]
    assert sum(inside(Limits(10, 2, 1, 1, behind_proxy), *crowd)) == left
