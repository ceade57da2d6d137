"""The order of making asks for the fewest cleanings, and names each."""

from functools import cache
from itertools import permutations
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.allergens.making import fewest_runs
from service.domain.allergens.screening import Avoidance, screen
from service.reference.allergens.vocabulary import vocabulary
from service.reference.foods.catalogue import find_food


def cleanings(order: tuple[int, ...], levels: list[list[int]], needs: list[frozenset[int]]) -> int:
    """How often the board is washed when things are made in that order, each washing as late as it can be."""
    board, washed = [0] * len(levels[0]), 0
    for item in order:
        if any(board[allergen] > levels[item][allergen] for allergen in needs[item]):
            board, washed = [0] * len(levels[0]), washed + 1
        board = [max(pair) for pair in zip(board, levels[item], strict=True)]
    return washed


@pytest.mark.property
@given(st.data(), st.integers(1, 6))
def test_no_order_asks_for_fewer_cleanings(data: st.DataObject, count: int) -> None:
    """Against every order there is."""
    levels = [data.draw(st.lists(st.integers(0, 2), min_size=3, max_size=3)) for _ in range(count)]
    needs = [data.draw(st.frozensets(st.integers(0, 2))) for _ in range(count)]
    runs = fewest_runs(levels, needs)
    assert sorted(item for run in runs for item in run) == list(range(count))
    assert all(cleanings(tuple(run), levels, needs) == 0 for run in runs)
    assert len(runs) - 1 == min(cleanings(order, levels, needs) for order in permutations(range(count)))


@pytest.mark.property
@settings(deadline=None, max_examples=8)
@given(st.randoms(use_true_random=False))
def test_twelve_items_need_no_more_cleanings_than_the_best_of_all_orders(random: Random) -> None:
    """Against every order, told apart only by what is made already and what is on the board."""
    levels = [tuple(random.choice((0, 0, 1, 2)) for _ in range(3)) for _ in range(12)]
    needs = [frozenset(at for at in range(3) if random.random() < 0.6) for _ in range(12)]

    @cache
    def fewest(made: int, board: tuple[int, ...]) -> int:
        best = 0 if made == 4095 else 99
        for item in range(12):
            if not made >> item & 1:
                wash = any(board[at] > levels[item][at] for at in needs[item])
                after = levels[item] if wash else tuple(map(max, board, levels[item]))
                best = min(best, wash + fewest(made | 1 << item, after))
        return best

    assert len(fewest_runs(levels, needs)) - 1 == fewest(0, (0, 0, 0))


def test_many_items_are_put_in_order_too() -> None:
    levels = [[place % 3, (place // 3) % 3] for place in range(30)]
    needs = [frozenset({0, 1})] * 30
    runs = fewest_runs(levels, needs)
    assert sorted(item for run in runs for item in run) == list(range(30))
    assert all(cleanings(tuple(run), levels, needs) == 0 for run in runs)


def test_bread_cheese_and_peanut_butter_for_two_children() -> None:
    """One avoids milk, one peanut: between cheese and peanut butter the board is washed, for the one who eats what follows."""
    foods = [find_food(name) for name in ("bread-white", "cheese-cheddar", "peanut-butter-smooth")]
    children = [[Avoidance("milk", "contains")], [Avoidance("peanut", "contains")]]
    steps = screen(vocabulary(), children, [[food] for food in foods if food is not None]).steps
    washed = [step for step in steps if step.clean_before]
    assert steps[0].item == "white bread, sliced"
    assert [(step.clean_before, len(step.clean_for)) for step in washed] == [(("milk", "peanut"), 1)]
