"""The lunches of some days: held against every way to give them."""

from itertools import product

import pytest
from hypothesis import given, strategies

from service.domain.plan.all_lunches import MISSED, AllLunches, ChildGiven, Given, GroupGiven, all_lunches, unit_of
from service.domain.plan.robust import Row
from service.planning.lunches_master import Kind, Supply
from service.planning.lunches_model import find_lunches


def child(costs: list[int], values: list[int], no_repeat: int, means: tuple[tuple[int, int], ...] = ()) -> ChildGiven:
    """A main dish that does not come again for some days, and one of two drinks that may."""
    mains = tuple(
        Given(f"m{n}", f"m{n}", cost / 10, (value, value))
        for n, (cost, value) in enumerate(zip(costs, values, strict=True))
    )
    drinks = (Given("water", "water", 0.0, (0, 0)), Given("milk", "milk", 0.1, (3, 3)))
    groups = (GroupGiven("mains", 1, 1, False, no_repeat, mains), GroupGiven("drinks", 1, 1, False, 0, drinks))
    return ChildGiven((Row("least", "", -8, short=True),), means, groups, ())


def negative(values: list[int]) -> list[int]:
    """A bound from below is a row with its signs turned."""
    return [-value for value in values]


def every_way(lunches: AllLunches, days: int) -> float:
    """The least cost of all ways to give a lunch on each day, with foods kept apart."""
    apart = lunches.child.groups[0].no_repeat
    mains = [next(item for group, item in lunches.items(n) if group == 0) for n in range(lunches.number)]
    best = float("inf")
    for some in product(range(lunches.number), repeat=days):
        if any(mains[some[a]] == mains[some[b]] for a in range(days) for b in range(a + 1, min(days, a + apart + 1))):
            continue
        cost = sum(float(lunches.costs[one]) for one in some)
        for place, bound in lunches.child.means:
            items = [item for group in lunches.child.groups for item in group.items]
            unit = unit_of(bound, max(abs(item.values[place]) for item in items)) * days
            total = sum(lunches.child.groups[g].items[i].values[place] for one in some for g, i in lunches.items(one))
            cost += MISSED * days * max(0.0, total - bound * days) / unit
        best = min(best, cost)
    return best


@pytest.mark.property
@given(
    strategies.lists(strategies.tuples(strategies.integers(1, 30), strategies.integers(2, 12)), min_size=3, max_size=3),
    strategies.integers(0, 2),
    strategies.integers(1, 4),
    strategies.booleans(),
)
def test_the_best_of_all_ways_lies_between_the_bound_and_what_is_found(
    foods: list[tuple[int, int]], no_repeat: int, days: int, with_mean: bool
) -> None:
    """The bound is never above the best, nothing found is below it, and without a mean the best is found."""
    given_ = child(
        [one[0] for one in foods], negative([one[1] for one in foods]), no_repeat, ((1, -9),) if with_mean else ()
    )
    lunches = all_lunches(given_)
    found = find_lunches([Kind(1, lunches, tuple((day,) for day in range(days)))], (), 10)
    best = every_way(lunches, days)
    assert found.bound <= best + 1e-6
    assert found.cost >= best - 1e-6
    if not with_mean and days <= no_repeat + 1:
        assert found.cost == pytest.approx(best, rel=1e-3)
    mains = [dict(lunches.items(one))[0] for one in found.lunches[0]]
    assert all(mains[a] != mains[b] for a in range(days) for b in range(a + 1, min(days, a + no_repeat + 1)))


def test_whole_batches_draw_the_children_to_one_dish() -> None:
    """By hand: two dishes at 1.0 a portion in batches of 4; four portions are one batch of one of them, not one of each."""
    given_ = child([0, 0, 40], negative([8, 8, 8]), 0)
    lunches = all_lunches(given_)
    kinds = [Kind(4, lunches, ((0,),))]
    supplies = [Supply(f"m{n}", 4.0, 4.0, 9, frozenset([0]), whole=True, stock=False) for n in range(2)]
    found = find_lunches(kinds, supplies, 10)
    assert found.cost == pytest.approx(4.0)
    assert found.bound <= 4.0 + 1e-6


def test_a_search_that_is_stopped_keeps_what_it_has() -> None:
    """Stopped at once there is a plan all the same, with a bound that says how good it may be."""
    lunches = all_lunches(child([5, 7, 9], negative([8, 3, 9]), 2))
    found = find_lunches([Kind(1, lunches, ((0,), (1,), (2,)))], (), 10, lambda _now: True)
    assert len(found.lunches[0]) == 3
    assert found.bound <= found.cost
