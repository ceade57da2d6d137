"""The lunches of some days: held against every way to give them."""

from itertools import combinations, pairwise, product
from math import ceil

import pytest
from hypothesis import assume, given, settings, strategies

from service.domain.plan.all_lunches import MISSED, AllLunches, ChildGiven, Given, GroupGiven, all_lunches, unit_of
from service.domain.plan.robust import Row
from service.planning.lunches_bound import Column, least_cost, used_in_whole
from service.planning.lunches_model import Kind, Supply
from service.planning.lunches_search import WHOLE, find_lunches
from service.planning.solver import Progress

FOODS = strategies.lists(
    strategies.tuples(strategies.integers(1, 30), strategies.integers(2, 12)), min_size=3, max_size=3
)
"""What three main dishes cost, and their value."""


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
@settings(deadline=None, max_examples=30)
@given(
    FOODS,
    strategies.integers(0, 2),
    strategies.integers(1, 4),
    strategies.booleans(),
)
def test_the_best_of_all_ways_lies_between_the_bound_and_what_is_found(
    foods: list[tuple[int, int]], no_repeat: int, days: int, with_mean: bool
) -> None:
    """The bound is never above the best, and the best is found."""
    given_ = child(
        [one[0] for one in foods], negative([one[1] for one in foods]), no_repeat, ((1, -9),) if with_mean else ()
    )
    lunches = all_lunches(given_)
    found = find_lunches([Kind(1, lunches, tuple(range(days)))], (), 10)
    best = every_way(lunches, days)
    assert found.bound <= best + 1e-6
    assert found.cost == pytest.approx(best, rel=1e-3, abs=1e-6)
    mains = [dict(one)[0] for one in found.lunches[0][0]]
    assert all(mains[a] != mains[b] for a in range(days) for b in range(a + 1, min(days, a + no_repeat + 1)))


@pytest.mark.property
@settings(deadline=None, max_examples=20)
@given(
    FOODS,
    strategies.integers(0, 2),
    strategies.integers(1, 4),
)
def test_given_all_lunches_in_whole_numbers_the_best_of_all_ways_is_used(
    foods: list[tuple[int, int]], no_repeat: int, days: int
) -> None:
    """What is used on the days of one child is one lunch a day, and together they cost what the best of all ways does."""
    lunches = all_lunches(child([one[0] for one in foods], negative([one[1] for one in foods]), no_repeat))
    kinds = [Kind(1, lunches, tuple(range(days)))]
    columns = [Column(0, day, number) for day in range(days) for number in range(lunches.number)]
    used = used_in_whole(kinds, (), columns, 10, lambda _now: False)
    cost = 0.0
    for day in range(days):
        items = sorted((one.group, one.item) for one in used if one.day == day)
        cost += min(float(lunches.costs[n]) for n in range(lunches.number) if sorted(lunches.items(n)) == items)
    assert cost == pytest.approx(every_way(lunches, days), rel=1e-3, abs=1e-6)


def test_of_two_children_of_a_kind_none_is_given_a_food_again_that_both_together_may() -> None:
    """Two dishes cost nothing and may not come twice in three days; together two children may have both on two days of three."""
    lunches = all_lunches(child([0, 0, 9], negative([8, 8, 8]), 2))
    found = find_lunches([Kind(2, lunches, (0, 1, 2))], (), 10)
    for days in found.lunches[0]:
        assert len({dict(one)[0] for one in days}) == 3
    assert found.cost == pytest.approx(1.8)


@pytest.mark.property
@settings(deadline=None, max_examples=30)
@given(
    FOODS,
    strategies.integers(0, 1),
    strategies.integers(1, 2),
    strategies.integers(2, 4),
    strategies.integers(0, 2),
)
def test_with_whole_batches_and_two_children_the_best_of_all_ways_is_found(
    foods: list[tuple[int, int]], no_repeat: int, children: int, size: int, stocked: int
) -> None:
    """Held against every way to give lunches on two days: dishes are made in whole batches, some portions are there already."""
    lunches = all_lunches(child([0, *(one[0] for one in foods[1:])], negative([one[1] for one in foods]), no_repeat))
    supplies = [Supply("m0", 0.7 * size, float(size), 9, frozenset([0, 1]), whole=True, stock=False)]
    if stocked:  # without, whoever is given the dish needs a batch
        supplies.append(Supply("m0", 0.0, 1.0, stocked, frozenset([1]), whole=False, stock=True))
    found = find_lunches([Kind(children, lunches, (0, 1))], supplies, 20)
    best = float("inf")
    ways = [
        way
        for way in product(range(lunches.number), repeat=2)
        if not no_repeat or dict(lunches.items(way[0]))[0] != dict(lunches.items(way[1]))[0]
    ]
    for some in product(ways, repeat=children):
        eaten = [sum(dict(lunches.items(way[day]))[0] == 0 for way in some) for day in (0, 1)]
        needed = eaten[0] + max(0, eaten[1] - stocked)
        cost = sum(float(lunches.costs[one]) for way in some for one in way) + 0.7 * size * -(-needed // size)
        best = min(best, cost)
    assert found.bound <= best + 1e-6
    assert found.cost == pytest.approx(best, rel=1e-3, abs=1e-6)


@pytest.mark.property
@settings(deadline=None, max_examples=40)
@given(
    FOODS,
    strategies.lists(strategies.sampled_from([0.25, 0.5, 1.0, 1.5, 2.0]), min_size=2, max_size=2),
    strategies.integers(0, 1),
    strategies.integers(2, 4),
    strategies.integers(0, 2),
)
def test_a_dish_is_counted_in_the_amounts_of_each_child(
    foods: list[tuple[int, int]], amounts: list[float], no_repeat: int, size: int, stocked: int
) -> None:
    """Held against every way on two days: of what both children get of a dish on a day, a part of a portion takes a whole one."""
    own = child([0, *(one[0] for one in foods[1:])], negative([one[1] for one in foods]), no_repeat)
    kinds = []
    for amount in amounts:
        mains = (own.groups[0].items[0]._replace(portions=amount), *own.groups[0].items[1:])
        groups = (own.groups[0]._replace(items=mains), own.groups[1])
        kinds.append(Kind(1, all_lunches(own._replace(groups=groups)), (0, 1)))
    supplies = [Supply("m0", 0.7 * size, float(size), 9, frozenset([0, 1]), whole=True, stock=False, dish=True)]
    if stocked:
        supplies.append(Supply("m0", 0.0, 1.0, stocked, frozenset([1]), whole=False, stock=True, dish=True))
    found = find_lunches(kinds, supplies, 20)
    lunches = kinds[0].lunches
    ways = [
        way
        for way in product(range(lunches.number), repeat=2)
        if not no_repeat or dict(lunches.items(way[0]))[0] != dict(lunches.items(way[1]))[0]
    ]
    best = float("inf")
    for some in product(ways, repeat=2):
        eaten = [
            ceil(sum(amount for amount, way in zip(amounts, some, strict=True) if not dict(lunches.items(way[day]))[0]))
            for day in (0, 1)
        ]
        needed = eaten[0] + max(0, eaten[1] - stocked)
        cost = sum(float(lunches.costs[one]) for way in some for one in way) + 0.7 * size * -(-needed // size)
        best = min(best, cost)
    assert found.bound <= best + 1e-6
    assert found.cost == pytest.approx(best, rel=1e-3, abs=1e-6)


@pytest.mark.property
@settings(deadline=None, max_examples=30)
@given(
    strategies.lists(strategies.integers(0, 9), min_size=3, max_size=4),
    strategies.integers(1, 2),
    strategies.integers(1, 2),
    strategies.integers(2, 3),
)
def test_what_is_taken_twice_at_once_comes_once(costs: list[int], least: int, no_repeat: int, days: int) -> None:
    """Held against every way to take one or two pieces of fruit a day, the first of which is made in batches of four."""
    fruit = tuple(Given(f"f{n}", f"f{n}", cost / 10, ()) for n, cost in enumerate(costs))
    lunches = all_lunches(ChildGiven((), (), (GroupGiven("fruit", least, 2, True, no_repeat, fruit),), ()))
    best = float("inf")
    for some in product(range(lunches.number), repeat=days):
        taken = [[item for _group, item in lunches.items(one)] for one in some]
        if any(set(taken[a]) & set(taken[b]) for a, b in combinations(range(days), 2) if b - a <= no_repeat):
            continue
        batches = -(-sum(one.count(0) for one in taken) // 4)
        best = min(best, sum(float(lunches.costs[one]) for one in some) + 0.5 * batches)
    assume(best < float("inf"))
    kinds = [Kind(1, lunches, tuple(range(days)))]
    supplies = [Supply("f0", 0.5, 4.0, 9, frozenset(range(days)), whole=True, stock=False)]
    bounds: list[float] = []
    least_cost(kinds, supplies, 10, lambda bound: bounds.append(bound) is not None)
    assert max(bounds) <= best + 1e-6
    assert find_lunches(kinds, supplies, 10).cost == pytest.approx(best, rel=1e-3, abs=1e-6)


def test_the_bound_has_a_batch_for_whoever_is_given_a_dish() -> None:
    """By hand: a batch at 3.0 instead of a food at 1.6 once in three days: saves one child 1.6 and the other 1.0, so none is made.

    Two portions at most are eaten of it; were it paid by the portion, the first child would save 0.1.
    """
    kinds = [Kind(1, all_lunches(child([own, 16, 16, 16], negative([8] * 4), 2)), (0, 1, 2)) for own in (0, 6)]
    supplies = [Supply("m0", 3.0, 6.0, 9, frozenset([0, 1, 2]), whole=True, stock=False)]
    bounds: list[float] = []
    least_cost(kinds, supplies, 10, lambda bound: bounds.append(bound) is not None)
    assert max(bounds) == pytest.approx(6 * 1.6)
    assert find_lunches(kinds, supplies, 10).cost == pytest.approx(6 * 1.6)


def test_whole_batches_draw_the_children_to_one_dish() -> None:
    """By hand: two dishes at 1.0 a portion in batches of 4; four portions are one batch of one of them, not one of each."""
    lunches = all_lunches(child([0, 0, 40], negative([8, 8, 8]), 0))
    kinds = [Kind(4, lunches, (0,))]
    supplies = [Supply(f"m{n}", 4.0, 4.0, 9, frozenset([0]), whole=True, stock=False) for n in range(2)]
    found = find_lunches(kinds, supplies, 10)
    assert found.cost == pytest.approx(4.0)
    assert found.bound == pytest.approx(4.0, rel=1e-3)
    assert len(found.lunches[0]) == 4


def test_of_a_batch_of_which_half_can_be_eaten_the_whole_is_paid() -> None:
    """By hand: a batch of eight at 4.0 for two children and a food at 2.5: no plan is below 4.0, which the bound must see."""
    lunches = all_lunches(child([0, 25], negative([8, 8]), 0))
    supplies = [Supply("m0", 4.0, 8.0, 9, frozenset([0]), whole=True, stock=False)]
    found = find_lunches([Kind(2, lunches, (0,))], supplies, 10)
    assert (found.cost, found.bound) == (pytest.approx(4.0), pytest.approx(4.0, rel=1e-3))


def test_more_children_than_the_solver_is_given_at_once() -> None:
    """Mended part by part: every child has a lunch each day, foods stay apart, and the bound is below what is found."""
    lunches = all_lunches(child([5, 7, 9, 4, 8, 6, 7, 5], negative([8, 3, 9, 8, 7, 8, 9, 8]), 2, ((1, -7),)))
    assert WHOLE < 40 * 10 * (8 + 2)
    supplies = [Supply("m0", 3.0, 6.0, 99, frozenset(range(10)), whole=True, stock=False)]
    found = find_lunches([Kind(25, lunches, tuple(range(10))), Kind(15, lunches, tuple(range(9)))], supplies, 6)
    assert [len(some) for some in found.lunches] == [25, 15]
    assert found.bound <= found.cost < float("inf")
    for some in found.lunches:
        for days in some:
            mains = [dict(one)[0] for one in days]
            assert all(mains[a] not in mains[a + 1 : a + 3] for a in range(len(mains)))


def test_a_search_that_is_stopped_keeps_what_it_has() -> None:
    """Stopped at once there is a plan all the same, with a bound that says how good it may be."""
    lunches = all_lunches(child([5, 7, 9], negative([8, 3, 9]), 2))
    found = find_lunches([Kind(1, lunches, (0, 1, 2))], (), 10, lambda _now: True)
    assert len(found.lunches[0][0]) == 3
    assert found.bound <= found.cost


def test_the_bound_never_falls_and_the_best_never_rises_while_it_is_told() -> None:
    told: list[Progress] = []
    lunches = all_lunches(child([5, 7, 9, 6], negative([8, 3, 9, 7]), 2, ((1, -8),)))

    def tell(now: Progress) -> bool:
        told.append(now)
        return False

    find_lunches([Kind(1, lunches, tuple(range(8)))], (), 10, tell)
    assert told
    for before, after in pairwise(told):
        assert before.best is not None
        assert after.best is not None
        assert after.best <= before.best
        assert before.bound <= after.bound <= after.best
