"""Laws of "enough portions", held against a search through every way in which everybody can take."""

from functools import cache
from itertools import combinations, combinations_with_replacement, product
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.plan.portions.enough import Eater, conditions_of, enough
from service.planning.enough_model import guaranteed
from tests.strategies import EXAMPLES

pytestmark = pytest.mark.property

FOODS = ("apple", "bean", "corn")
DAYS = 2
LAW = settings(deadline=None, max_examples=3 * EXAMPLES)


def can_be_left_short(eaters: tuple[Eater, ...], portions: dict[str, int]) -> bool:
    """Whether some way of taking, in any order of each morning, leaves somebody short: every one is tried."""
    foods = sorted(portions)

    def ways(eater: Eater, left: tuple[int, ...]) -> list[tuple[int, ...]]:
        """What may be left after it took."""
        mine = [place for place, food in enumerate(foods) if food in eater.may_take and left[place]]
        pick = combinations_with_replacement if eater.repeats else combinations
        found = set()
        for number in range(eater.least, eater.most + 1):
            for some in pick(mine, number):
                after = list(left)
                for place in some:
                    after[place] -= 1
                if min(after) >= 0:
                    found.add(tuple(after))
        return sorted(found)

    def here(day: int) -> frozenset[int]:
        return frozenset(place for place, one in enumerate(eaters) if day in one.mornings)

    @cache
    def fails(day: int, waiting: frozenset[int], left: tuple[int, ...]) -> bool:
        if not waiting:
            return day < DAYS and fails(day + 1, here(day + 1), left)
        for one in waiting:
            after = ways(eaters[one], left)
            if not after or any(fails(day, waiting - {one}, rest) for rest in after):
                return True
        return False

    return fails(0, here(0), tuple(portions[food] for food in foods))


@st.composite
def families(draw: st.DrawFn) -> tuple[Eater, ...]:
    found = []
    for place in range(draw(st.integers(1, 3))):
        may = draw(st.frozensets(st.sampled_from(FOODS), min_size=1))
        most = draw(st.integers(1, 2))
        least = draw(st.integers(0, most))
        mornings = draw(st.frozensets(st.integers(0, DAYS - 1), min_size=1))
        found.append(Eater(f"child {place}", may, mornings, least, most, draw(st.booleans())))
    return tuple(found)


@LAW
@given(families(), st.tuples(*[st.integers(0, 6)] * 3))
def test_enough_is_what_a_search_through_every_morning_says(
    eaters: tuple[Eater, ...], numbers: tuple[int, int, int]
) -> None:
    portions = dict(zip(FOODS, numbers, strict=True))
    assert enough(eaters, portions) == (not can_be_left_short(eaters, portions))


@LAW
@given(families())
def test_what_is_guaranteed_is_enough_and_none_fewer_are(eaters: tuple[Eater, ...]) -> None:
    found = guaranteed(eaters, dict.fromkeys(FOODS, 1))
    if found.nobody:
        assert any(not one.reserves for one in conditions_of(eaters))
        return
    assert found.proven
    assert enough(eaters, found.portions)
    fewer = found.total - 1
    for numbers in product(range(fewer + 1), repeat=len(FOODS)):
        if sum(numbers) == fewer:
            assert not enough(eaters, dict(zip(FOODS, numbers, strict=True)))


@pytest.mark.parametrize(("children", "days"), [(1, 5), (3, 5), (8, 10)])
def test_without_restrictions_a_portion_a_child_and_day_is_enough_in_any_mix(children: int, days: int) -> None:
    """By counting: so many takes cannot use up more portions than there are."""
    mornings = frozenset(range(days))
    eaters = [Eater(f"child {place}", frozenset(FOODS), mornings) for place in range(children)]
    found = guaranteed(eaters, dict.fromkeys(FOODS, 1))
    assert found.total == children * days
    assert enough(eaters, {"apple": children * days - 3, "bean": 2, "corn": 1})
    assert not enough(eaters, {"apple": children * days - 4, "bean": 2, "corn": 1})


@pytest.mark.parametrize("seed", range(5))
def test_what_is_guaranteed_never_runs_out_in_ten_thousand_random_mornings(seed: int) -> None:
    draw = Random(seed)  # noqa: S311 - seeded, no secret
    foods = ("apple", "bean", "corn", "date", "egg")
    days = 5
    eaters = []
    for place in range(4):
        may = frozenset(draw.sample(foods, draw.randint(2, 5)))
        mornings = frozenset(draw.sample(range(days), draw.randint(1, days)))
        least, most = draw.choice(((0, 1), (1, 1), (1, 2), (2, 2)))
        eaters.append(Eater(f"child {place}", may, mornings, least, most, draw.random() < 0.3))
    found = guaranteed(eaters, dict.fromkeys(foods, 1))
    assert not found.nobody
    for _week in range(10_000 // days):
        left = dict(found.portions)
        for day in range(days):
            for one in draw.sample(eaters, len(eaters)):
                if day in one.mornings:
                    assert took(one, left, draw), (one, found.portions)


def took(one: Eater, left: dict[str, int], draw: Random) -> bool:
    """Whether an eater that takes as it likes finds all that it must have; what it takes is gone."""
    taken: list[str] = []
    wanted = draw.randint(one.least, one.most)
    while len(taken) < wanted:
        free = [food for food in sorted(one.may_take) if left.get(food, 0) and (one.repeats or food not in taken)]
        if not free:
            break
        taken.append(draw.choice(free))
        left[taken[-1]] -= 1
    return len(taken) >= one.least


@LAW
@given(families())
def test_with_one_portion_less_of_what_is_guaranteed_it_runs_out_on_some_morning(eaters: tuple[Eater, ...]) -> None:
    found = guaranteed(eaters, dict.fromkeys(FOODS, 1))
    for food in FOODS if not found.nobody else ():
        if found.portions.get(food):
            assert can_be_left_short(
                eaters, {**dict.fromkeys(FOODS, 0), **found.portions, food: found.portions[food] - 1}
            )
