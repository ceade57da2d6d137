"""How often some portions are enough: by hand where it can be counted, and against mornings played one by one."""

from fractions import Fraction
from random import Random

import pytest

from service.domain.plan.portions.enough import Eater
from service.domain.plan.portions.usual import Chance, chance
from service.domain.plan.portions.usual_portions import usual_portions
from service.planning.enough_model import guaranteed

WEEK = frozenset(range(5))
FAMILY = [
    Eater("Robin", frozenset({"apple", "pear", "plum"}), WEEK),
    Eater("Kit", frozenset({"apple", "pear"}), WEEK),
    Eater("Sam", frozenset({"pear"}), frozenset({0, 2, 4})),
]


def played(eaters: list[Eater], portions: dict[str, int], draws: Random) -> bool:
    """One run of mornings: whether everybody found what it must take."""
    left = dict(portions)
    for day in range(max(one.last for one in eaters) + 1):
        some = [one for one in eaters if day in one.mornings]
        draws.shuffle(some)
        for eater in some:
            taken: list[str] = []
            for _turn in range(draws.randint(eater.least, eater.most)):
                free = [one for one in sorted(left) if left[one] and one in eater.may_take]
                free = free if eater.repeats else [one for one in free if one not in taken]
                if free:
                    taken.append(draws.choice(free))
                    left[taken[-1]] -= 1
            if len(taken) < eater.least:
                return False
    return True


def test_two_children_on_two_mornings_counted_by_hand() -> None:
    """Kit may take apples or pears, Sam pears only; two of each. Sam needs both pears, so Kit must take two apples.

    First morning: Kit takes an apple in one of two cases. Second morning: Sam comes first in one of two cases and takes the
    last pear, so that Kit takes the apple; otherwise Kit takes it in one of two cases. 1/2 * (1/2 + 1/4) = 3/8.
    """
    two = frozenset({0, 1})
    eaters = [Eater("Kit", frozenset({"apple", "pear"}), two), Eater("Sam", frozenset({"pear"}), two)]
    assert chance(eaters, {"apple": 2, "pear": 2}) == Chance(3 / 8)


@pytest.mark.parametrize(
    "portions",
    [{"apple": 5, "pear": 6, "plum": 3}, {"apple": 3, "pear": 9, "plum": 2}, {"apple": 4, "pear": 7, "plum": 2}],
)
def test_exact_sampled_and_played_agree(portions: dict[str, int]) -> None:
    exact = chance(FAMILY, portions)
    sampled = chance(FAMILY, portions, exactly=False)
    assert exact.error is None
    assert sampled.error is not None
    assert abs(exact.share - sampled.share) < 2 * sampled.error
    draws = Random(11)  # noqa: S311 - a test draws the same each time
    share = sum(played(FAMILY, portions, draws) for _run in range(10_000)) / 10_000
    assert abs(exact.share - share) < 0.02


def test_what_is_guaranteed_never_runs_out_in_ten_thousand_weeks_of_chance() -> None:
    found = guaranteed(FAMILY, {"apple": 3, "pear": 5, "plum": 4}, {"apple": 2, "pear": 2, "plum": 2})
    draws = Random(12)  # noqa: S311 - a test draws the same each time
    assert all(played(FAMILY, dict(found.portions), draws) for _run in range(10_000))


def test_the_usual_number_keeps_its_promise_and_costs_no_more() -> None:
    cost = {"apple": Fraction(3), "pear": Fraction(5), "plum": Fraction(4)}
    always = guaranteed(FAMILY, cost, {"plum": 4})
    usual = usual_portions(FAMILY, [always.portions], cost, at_least={"plum": 4})
    assert usual.cost <= always.cost
    assert usual.portions["plum"] >= 4
    draws = Random(13)  # noqa: S311 - a test draws the same each time
    assert sum(played(FAMILY, dict(usual.portions), draws) for _run in range(10_000)) / 10_000 > 0.94


def test_a_food_that_is_liked_more_runs_out_sooner() -> None:
    portions = {"apple": 4, "pear": 7, "plum": 2}
    likes_pears = {"Robin": {"pear": 5.0}, "Kit": {"pear": 5.0}}
    assert chance(FAMILY, portions, likes_pears).share < chance(FAMILY, portions).share
