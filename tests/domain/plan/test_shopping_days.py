"""The fewest days of shopping, held against a search through all sets of days."""

from datetime import date, timedelta
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.plan.shopping_days import Wanted, bought_on, shopping_days, span_of

FIRST = date(2026, 11, 29)
WANTED = st.lists(
    st.builds(Wanted, st.integers(0, 9).map(lambda n: FIRST + timedelta(days=n)), st.none() | st.integers(0, 5)),
    max_size=6,
)


@pytest.mark.property
@given(WANTED)
def test_everything_is_fresh_and_no_fewer_days_would_do(wanted: list[Wanted]) -> None:
    days = shopping_days(wanted, FIRST)
    assert all(bought_on(one, days)[1] for one in wanted)
    later = [FIRST + timedelta(days=n) for n in range(1, 11)]
    spans = [span_of(one, FIRST) for one in wanted]
    for fewer in combinations(later, len(days) - 2) if len(days) > 1 else ():
        assert not all(any(begin <= day <= end for day in (FIRST, *fewer)) for begin, end in spans)


def test_what_keeps_three_days_is_bought_in_the_middle_of_the_week() -> None:
    """By hand: sliced ham for Friday keeps three days, so from Tuesday on; the last evening before is Thursday."""
    friday = Wanted(date(2026, 12, 4), 3)
    assert shopping_days([friday], FIRST) == (FIRST, date(2026, 12, 3))
    assert shopping_days([friday], FIRST, [date(2026, 12, 1), date(2026, 12, 2)]) == (FIRST, date(2026, 12, 2))


def test_where_nobody_can_shop_in_time_it_is_said() -> None:
    friday = Wanted(date(2026, 12, 4), 1)
    days = shopping_days([friday], FIRST, [date(2026, 12, 1)])
    assert days == (FIRST,)
    assert bought_on(friday, days) == (FIRST, False)
