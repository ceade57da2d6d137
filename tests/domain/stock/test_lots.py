"""What is taken first, and that nothing gets lost. Common practice, no source: what ends first is used first."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.stock.lots import Lot, take

DAY = date(2026, 11, 30)
LOTS = st.lists(
    st.builds(
        Lot,
        id=st.uuids().map(str),
        food=st.sampled_from(["soup", "bread"]),
        place=st.sampled_from(["freezer", "fridge", "cupboard"]),
        amount_mg=st.integers(0, 10**6),
        portion_mg=st.just(250_000),
        made_on=st.integers(-3, 1).map(lambda days: DAY + timedelta(days)),
        use_by=st.none() | st.integers(-2, 5).map(lambda days: DAY + timedelta(days)),
    ),
    max_size=8,
    unique_by=lambda lot: lot.id,
)


def lot(name: str, place: str, ends: date | None, made: date = DAY) -> Lot:
    return Lot(name, "soup", place, 300_000, 300_000, made, ends)


def test_what_ends_first_goes_first_and_the_freezer_last() -> None:
    here = [
        lot("frozen", "freezer", DAY),
        lot("unknown", "cupboard", None),
        lot("later", "fridge", DAY + timedelta(3)),
        lot("sooner", "fridge", DAY + timedelta(1)),
    ]
    assert [one for one, _mg in take(here, "soup", 1_200_000, DAY).parts] == ["sooner", "later", "unknown", "frozen"]


def test_what_is_over_or_not_yet_made_is_left_alone() -> None:
    here = [lot("over", "fridge", DAY - timedelta(1)), lot("to come", "fridge", None, DAY + timedelta(1))]
    assert take(here, "soup", 100, DAY).parts == ()
    assert take([lot("old", "freezer", DAY - timedelta(9))], "soup", 100, DAY).short_mg == 0


@pytest.mark.property
@given(LOTS, st.integers(0, 3 * 10**6))
def test_taken_and_short_add_up_and_no_lot_gives_more_than_it_has(lots: list[Lot], asked: int) -> None:
    taken = take(lots, "soup", asked, DAY)
    assert taken.taken_mg + taken.short_mg == asked
    there = {one.id: one for one in lots}
    assert all(0 < amount <= there[name].amount_mg and there[name].food == "soup" for name, amount in taken.parts)
