"""The cheapest packs, held against a search through every number of each."""

from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.plan.packs import Pack, cheapest

PACKS = st.lists(st.builds(Pack, st.integers(1, 9), st.integers(0, 12)), min_size=1, max_size=3)


@pytest.mark.property
@settings(deadline=None)
@given(PACKS, st.integers(1, 20))
def test_no_other_packs_that_cover_it_are_cheaper(packs: list[Pack], amount: int) -> None:
    found = cheapest(packs, amount)
    assert found.proven
    assert found.amount_mg >= amount
    every = (
        (sum(n * one.amount_minor for n, one in zip(numbers, packs, strict=True)), numbers)
        for numbers in product(range(amount + 1), repeat=len(packs))
        if sum(n * one.pack_mg for n, one in zip(numbers, packs, strict=True)) >= amount
    )
    assert found.amount_minor == min(cost for cost, _numbers in every)


def test_one_large_pack_where_it_costs_less_than_what_is_needed_in_small_ones() -> None:
    """By hand: 3 x 1.00 for 750 g, or 2.50 for a kilogram."""
    small, large = Pack(250_000, 100), Pack(1_000_000, 250)
    assert cheapest([small, large], 700_000).counts == ((large, 1),)
    assert cheapest([small, large], 500_000).counts == ((small, 2),)


def test_equally_cheap_packs_leave_as_little_over_as_can_be() -> None:
    assert cheapest([Pack(300, 30), Pack(200, 30)], Fraction(200)).counts == ((Pack(200, 30), 1),)


def test_very_many_small_packs_end_and_say_whether_it_is_sure() -> None:
    found = cheapest([Pack(7, 7), Pack(11, 11), Pack(13, 13)], 10_000_001)
    assert found.amount_mg >= 10_000_001
    assert found.amount_minor <= 10_000_001 + 13


def test_a_thousand_sizes_end_too() -> None:
    found = cheapest([Pack(1_000 + size, 1_000 + size) for size in range(1_000)], 1_234_567)
    assert found.amount_mg >= 1_234_567
    assert not found.proven
