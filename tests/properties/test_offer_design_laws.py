"""Laws of an offer that cannot go wrong, held against a search through every choice of foods and sizes."""

import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations, product
from random import Random
from statistics import pvariance

import pytest

from service.domain.plan.narrowing import narrowed
from service.domain.plan.robust import Candidates, Row, Sized, broken, in_the_way, too_few, worst
from service.planning.offer_model import ChildToServe, MeanRow, Width, design
from service.planning.week_search import better_weeks

pytestmark = pytest.mark.property

GROUPS = {"main": ("a", "b", "c"), "side": ("d", "e", "f")}
WEIGHTS = {(group, food): 1.0 + place for group, foods in GROUPS.items() for place, food in enumerate(foods)}


def lunches(one: Candidates, sizes: dict[str, int], row: int) -> Iterator[int]:
    """Each sum that can be taken from a group, one by one."""
    values = [next(s.values[row] for s in one.foods[food] if s.size == size) for food, size in sizes.items()]
    for number in range(one.least, one.most + 1):
        for some in product(values, repeat=number) if one.repeats else combinations(values, number):
            yield sum(some)


def family(draw: Random) -> list[ChildToServe]:
    """One or two children with two groups, up to two sizes a food and two rows."""
    children = []
    for number in range(draw.choice((1, 2))):
        groups = []
        for group, foods in GROUPS.items():
            may = [food for food in foods if draw.random() < 0.85] or [foods[0]]
            least = draw.choice((0, 1, 1, 2))
            sized = {
                food: tuple(
                    Sized(size, (draw.randint(-4, 9), draw.randint(-9, 4))) for size in range(draw.choice((1, 2)))
                )
                for food in may
            }
            choices = draw.randint(max(1, least), 2)
            groups.append(
                Candidates(group, sized, least, max(least, draw.choice((1, 2))), draw.random() < 0.2, choices)
            )
        rows = [Row("most", "at most", draw.randint(0, 16)), Row("least", "at least", draw.randint(-12, 4), short=True)]
        children.append(ChildToServe(f"child {number}", rows, groups))
    return children


def best_by_search(children: list[ChildToServe], width: Width) -> float | None:
    """The smallest weights of any choice of foods that some sizes make right for every child."""
    found = []
    per_group = [
        [some for number in range(width.least, width.most + 1) for some in combinations(foods, number)]
        for foods in GROUPS.values()
    ]
    for chosen in product(*per_group):
        offer = dict(zip(GROUPS, chosen, strict=True))
        if all(can_be_right(child, offer) for child in children):
            found.append(sum(WEIGHTS[(group, food)] for group, foods in offer.items() for food in foods))
    return min(found, default=None)


def can_be_right(child: ChildToServe, offer: dict[str, tuple[str, ...]]) -> bool:
    mine = {one.group: [food for food in offer[one.group] if food in one.foods] for one in child.groups}
    if any(len(mine[one.group]) < one.choices for one in child.groups):
        return False
    places = [(one.group, food) for one in child.groups for food in mine[one.group]]
    by_group = {one.group: one for one in child.groups}
    for sizes in product(*[[s.size for s in by_group[group].foods[food]] for group, food in places]):
        given = dict(zip(places, sizes, strict=True))
        if all(
            sum(
                max(lunches(one, {f: given[(one.group, f)] for f in mine[one.group]}, row), default=0)
                for one in child.groups
            )
            <= child.rows[row].bound
            for row in range(len(child.rows))
        ):
            return True
    return False


@pytest.mark.parametrize("seed", range(150))
def test_an_offer_is_found_exactly_where_there_is_one_and_none_is_cheaper(seed: int) -> None:
    children = family(Random(seed))  # noqa: S311 - seeded, no secret
    width = Width(1, 3)
    found = design(children, dict.fromkeys(GROUPS, width), WEIGHTS, seconds=10)
    best = best_by_search(children, width)
    if best is None:
        assert found is None
        return
    assert found is not None
    assert sum(WEIGHTS[(group, food)] for group, foods in found.foods.items() for food in foods) == best
    for child in children:
        assert not broken(child.rows, child.groups, found.sizes[child.name])


@pytest.mark.parametrize("seed", range(300))
def test_what_is_said_to_stand_in_the_way_does_and_nothing_is_dropped_that_could_stand(seed: int) -> None:
    for child in family(Random(seed)):  # noqa: S311 - seeded, no secret
        if too_few(child.groups):
            continue
        width = Width(1, 3)
        possible = best_by_search([child], width)
        if in_the_way(child.rows, child.groups):
            assert possible is None
            continue
        less = narrowed(child.rows, child.groups)
        if too_few(less):
            assert possible is None
        else:
            assert best_by_search([child._replace(groups=less)], width) == possible


@pytest.mark.parametrize("seed", range(300))
def test_the_worst_of_a_group_is_the_greatest_of_all_lunches(seed: int) -> None:
    for child in family(Random(seed)):  # noqa: S311 - seeded, no secret
        for one in child.groups:
            sizes = {food: some[0].size for food, some in one.foods.items()}
            if len(sizes) >= one.most or one.repeats:
                values = [some[0].values[0] for some in one.foods.values()]
                assert worst(values, one.least, one.most, repeats=one.repeats) == max(lunches(one, sizes, 0), default=0)


@pytest.mark.parametrize("seed", range(100))
def test_as_many_choices_as_can_be_are_found_and_no_more(seed: int) -> None:
    children = family(Random(seed))  # noqa: S311 - seeded, no secret
    width = Width(1, 3)
    fewest = [
        child._replace(groups=[replace(one, choices=max(1, one.least)) for one in child.groups]) for child in children
    ]
    wanted = {child.name: dict.fromkeys(GROUPS, 3) for child in children}
    found = design(fewest, dict.fromkeys(GROUPS, width), WEIGHTS, seconds=10, wanted=wanted)
    most = most_choices_by_search(fewest, width)
    if most is None:
        assert found is None
        return
    assert found is not None
    assert sum(choices_of(child, found.foods) for child in fewest) == most


def choices_of(child: ChildToServe, offer: Mapping[str, Sequence[str]]) -> int:
    """How many foods of an offer a child finds."""
    return sum(food in one.foods for one in child.groups for food in offer[one.group])


def most_choices_by_search(children: list[ChildToServe], width: Width) -> int | None:
    """How many foods all children together find in the offer with most for them, of those that are right."""
    some = [
        [few for number in range(width.least, width.most + 1) for few in combinations(foods, number)]
        for foods in GROUPS.values()
    ]
    offers = [dict(zip(GROUPS, chosen, strict=True)) for chosen in product(*some)]
    right = [offer for offer in offers if all(can_be_right(child, offer) for child in children)]
    return max((sum(choices_of(child, offer) for child in children) for offer in right), default=None)


@pytest.mark.parametrize("seed", range(150))
def test_a_search_for_better_weeks_keeps_every_row_and_the_number_of_foods(seed: int) -> None:
    draw = Random(seed)  # noqa: S311 - seeded, no secret
    children = [
        child._replace(means=[MeanRow(0, draw.randint(0, 8)), MeanRow(1, draw.randint(-6, 4))])
        for child in family(draw)
    ]
    found = design(children, dict.fromkeys(GROUPS, Width(1, 3)), WEIGHTS, seconds=10)
    if found is None:
        return
    better = better_weeks(children, WEIGHTS, found, time.monotonic() + 10)
    assert {group: len(some) for group, some in better.foods.items()} == {
        group: len(some) for group, some in found.foods.items()
    }
    for child in children:
        assert not broken(child.rows, child.groups, better.sizes[child.name])
        for one in child.groups:
            mine = {food for food in better.foods[one.group] if food in one.foods}
            assert set(better.sizes[child.name][one.group]) == mine
            assert len(mine) >= one.choices
    assert sum(missed(child, better.sizes[child.name]) for child in children) <= sum(
        missed(child, found.sizes[child.name]) for child in children
    )


def missed(child: ChildToServe, sizes: Mapping[str, Mapping[str, int]]) -> float:
    """How far, in spreads, the mean of five lunches is from where it should be: over all lunches, listed one by one."""
    total = 0.0
    for mean in child.means:
        sums = [
            sum(each)
            for each in product(*[list(subsets(one, dict(sizes[one.group]), mean.at)) for one in child.groups])
        ]
        spread = (pvariance(sums) / 5) ** 0.5 + 1e-6 * max(1, abs(mean.bound))
        inside = max(-50.0, min(50.0, (mean.bound - sum(sums) / len(sums)) / spread))
        total += max(0.0, 1.65 - inside)
    return round(total, 6)


def subsets(one: Candidates, sizes: dict[str, int], row: int) -> Iterator[int]:
    """Each sum that can be taken from a group, every food once."""
    values = [next(s.values[row] for s in one.foods[food] if s.size == size) for food, size in sizes.items()]
    for number in range(one.least, min(one.most, len(values)) + 1):
        yield from (sum(some) for some in combinations(values, number))
