"""What the stock gives, and how many batches are made when: by hand, and against every way there is."""

from datetime import date, timedelta
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings, strategies

from service.domain.plan.batches import DishMade, Frozen, LotAtHand, made_of, use_stock
from service.domain.plan.planned import Need
from service.planning.batches_model import BatchesFound, find_batches

SUNDAY = date(2026, 11, 29)
DAYS = [SUNDAY + timedelta(days=number) for number in range(1, 6)]


def dish(batch: int = 4, parts: int = 1, fridge: int = 2, freezer: int | None = None) -> DishMade:
    """A dish that keeps for so many days."""

    def keeps(place: str, made_on: date, thawed_on: date | None) -> date | None:
        days = freezer if place == "freezer" else fridge
        return None if days is None else (thawed_on or made_on) + timedelta(days=days)

    return DishMade("soup", batch, parts, keeps, freezer is not None)


def found(
    one: DishMade, needs: dict[date, int], prep: list[date], before: dict[date, int] | None = None
) -> BatchesFound:
    """Batches without locks."""
    were = {day: Fraction(number) for day, number in (before or {}).items()}
    return find_batches(one, needs, prep, were, {}, again=before is not None)


def test_a_day_beyond_the_fridge_needs_the_freezer_or_is_said_to_be_short() -> None:
    """By hand: made on Sunday, good in the fridge until Tuesday; 2 portions on Monday, 2 on Thursday."""
    needs = {DAYS[0]: 2, DAYS[3]: 2}
    frozen = dish(freezer=30)
    one = found(frozen, needs, [SUNDAY])
    made = made_of(frozen, needs, one.batches, one.flows)
    assert [(each.portions, each.to_freezer, each.to_fridge) for each in made.batches] == [(4, 2, 2)]
    assert [(each.evening, each.portions, each.for_day) for each in made.moves] == [(DAYS[2], 2, DAYS[3])]
    assert not made.short
    fresh = dish()
    one = found(fresh, needs, [SUNDAY])
    made = made_of(fresh, needs, one.batches, one.flows)
    assert [(each.by_day, each.portions) for each in made.short] == [(DAYS[3], 2)]
    assert (made.left_over, made.thrown) == (2, 2)


def test_half_a_batch_where_the_dish_allows_it() -> None:
    """By hand: 2 portions of a batch of 4 are half a batch, or a whole one."""
    assert found(dish(parts=2), {DAYS[0]: 2}, [SUNDAY]).batches == {SUNDAY: Fraction(1, 2)}
    assert found(dish(parts=1), {DAYS[0]: 2}, [SUNDAY]).batches == {SUNDAY: 1}
    assert found(dish(parts=4), {DAYS[0]: 2}, [SUNDAY]).batches == {SUNDAY: Fraction(1, 2)}


def test_what_is_made_stays_as_it_was_while_it_is_enough() -> None:
    """Two batches before; one would do now, and is not taken back; a dish that is not needed any more is not made."""
    prep = [SUNDAY]
    assert found(dish(freezer=30), {DAYS[0]: 5}, prep).batches == {SUNDAY: 2}
    assert found(dish(freezer=30), {DAYS[0]: 5, DAYS[1]: 3}, prep, {SUNDAY: 2}).batches == {SUNDAY: 2}
    assert found(dish(freezer=30), {DAYS[0]: 9}, prep, {SUNDAY: 2}).batches == {SUNDAY: 3}
    assert found(dish(freezer=30), {}, prep, {SUNDAY: 2}).batches == {}


def test_a_locked_batch_stays_even_where_it_is_not_needed() -> None:
    locked = {SUNDAY: Fraction(1)}
    assert find_batches(dish(), {}, [SUNDAY], locked, locked, again=True).batches == locked


def test_a_locked_part_of_a_batch_is_used_where_only_whole_ones_are_made_now() -> None:
    """By hand: a locked quarter of a batch of 8 makes 2 portions for Monday; the 3 of Thursday take a whole batch of Wednesday."""
    locked = {SUNDAY: Fraction(1, 4)}
    needs = {DAYS[0]: 2, DAYS[3]: 3}
    one = find_batches(dish(batch=8), needs, [SUNDAY, DAYS[2]], locked, locked, again=True)
    assert one.batches == {SUNDAY: Fraction(1, 4), DAYS[2]: 1}
    made = made_of(dish(batch=8), needs, one.batches, one.flows)
    assert (made.short, made.left_over) == ([], 5)


def test_a_part_of_a_batch_that_makes_half_a_portion_is_told_in_full() -> None:
    """By hand: a quarter of a batch of 6 makes one portion and a half; one is eaten, the half is left over."""
    needs = {DAYS[0]: 1}
    one = found(dish(batch=6, parts=4), needs, [SUNDAY])
    made = made_of(dish(batch=6, parts=4), needs, one.batches, one.flows)
    assert [(each.batches, each.portions, each.to_fridge) for each in made.batches] == [(0.25, 1.5, 1.5)]
    assert (made.left_over, made.thrown) == (0.5, 0.5)


@pytest.mark.property
@settings(deadline=None)
@given(
    strategies.lists(strategies.integers(0, 5), min_size=5, max_size=5),
    strategies.sampled_from([(3, 1), (4, 2), (5, 4)]),
    strategies.integers(1, 3),
    strategies.sampled_from([None, 30]),
)
def test_as_few_portions_as_any_way_makes(
    many: list[int], size: tuple[int, int], fridge: int, freezer: int | None
) -> None:
    """Held against all numbers of batches on two prep days; what is short is counted first."""
    needs = {day: number for day, number in zip(DAYS, many, strict=True) if number}
    one = dish(*size, fridge, freezer)
    prep = [SUNDAY, DAYS[2]]
    ours = found(one, needs, prep)
    made = made_of(one, needs, ours.batches, ours.flows)
    mine = (sum(each.portions for each in made.short), sum(ours.batches.values()) * one.parts)
    best = min(
        (_short(one, needs, dict(zip(prep, parts, strict=True))), sum(parts))
        for parts in product(range(sum(many) * size[1] // size[0] + 2), repeat=2)
    )
    assert mine == best


def _short(one: DishMade, needs: dict[date, int], parts: dict[date, int]) -> int:
    """What is short when the portions that end first are eaten first: no way leaves less."""
    left = {made_on: one.batch_portions * number // one.parts for made_on, number in parts.items()}
    short = 0
    for day, number in sorted(needs.items()):
        wanted = number
        for made_on in sorted(made for made in left if one.fresh(made, day) or one.frozen(made, day)):
            taken = min(left[made_on], wanted)
            left[made_on] -= taken
            wanted -= taken
        short += wanted
    return short


@pytest.mark.property
@settings(deadline=None)
@given(strategies.lists(strategies.tuples(strategies.integers(0, 4), strategies.integers(1, 900)), max_size=6))
def test_the_stock_gives_no_more_than_there_is_and_nothing_past_its_day(needed: list[tuple[int, int]]) -> None:
    """What is taken and what is left are together what was needed; no lot gives more than it has."""
    lots = [
        LotAtHand("fridge", "pears", 500, "fridge", DAYS[1]),
        LotAtHand("cupboard", "pears", 700, "cupboard", None),
        LotAtHand("other", "plums", 900, "fridge", None),
    ]
    needs = [Need("pears", amount, 100, DAYS[at]) for at, amount in needed]
    used = use_stock(needs, lots, (), {})
    taken = {lot.id: sum(one.amount_mg for one in used.taken if one.lot == lot.id) for lot in lots}
    assert all(taken[lot.id] <= lot.amount_mg for lot in lots)
    assert taken["other"] == 0
    assert all(one.for_day <= DAYS[1] for one in used.taken if one.lot == "fridge")
    assert sum(taken.values()) + sum(one.amount_mg for one in used.left) == sum(amount for _at, amount in needed)


def test_what_is_frozen_stays_there_where_it_would_not_keep_once_it_is_thawed() -> None:
    """By hand: moved three evenings before its day, it keeps for two days after the move, or three; unknown is not enough."""
    lots = [LotAtHand("ice", "stew", 500, "freezer", None)]
    needs = [Need("stew", 500, 100, DAYS[3])]
    for days, taken in ((2, 0), (3, 500), (None, 0)):

        def keeps(evening: date, days: int | None = days) -> date | None:
            return None if days is None else evening + timedelta(days)

        used = use_stock(needs, lots, (), {"ice": Frozen(3, keeps)})
        assert sum(one.amount_mg for one in used.taken) == taken
        assert [one.evening for one in used.moves] == [DAYS[0]] * bool(taken)
        assert sum(one.amount_mg for one in used.left) == 500 - taken
