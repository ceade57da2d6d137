"""Inside a span of days in which no row changes, every day gives the same answer; outside all rows none does."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.errors import OutsideDates
from service.domain.lunch.compiling import compile_targets, first_and_last_day
from service.domain.lunch.standards import Standard, Target, TargetTable
from service.reference.lunch.standards import standard, standard_ids
from tests.refused import refused
from tests.strategies import LAW, first_days

pytestmark = pytest.mark.property

ONE_DAY = timedelta(days=1)
FAR = date(2060, 12, 31)
STANDARDS = st.sampled_from(standard_ids()).map(standard)


def fields(target: Target) -> tuple[object, ...]:
    """A compiled target by value (targets are compared by identity)."""
    return tuple(getattr(target, name) for name in Target.__slots__)


def content(table: TargetTable) -> tuple[object, ...]:
    """A table without its day."""
    return (
        [fields(target) for target in table.targets],
        [fields(target) for target in table.week_targets],
        table.product_rules,
        table.milk_rules,
        table.age_group,
    )


def spans(known: Standard) -> list[tuple[date, date]]:
    """Spans of days without a change, first and last day inclusive."""
    starts = first_days(known)
    _first, last = first_and_last_day(known)
    ends = [start - ONE_DAY for start in starts[1:]] + [last or FAR]
    return [(start, end) for start, end in zip(starts, ends, strict=True) if start <= end]


@LAW
@given(st.data(), STANDARDS)
def test_two_days_of_a_span_give_the_same_table(data: st.DataObject, known: Standard) -> None:
    first, last = data.draw(st.sampled_from(spans(known)))
    group = data.draw(st.sampled_from(known.age_groups))
    one, other = data.draw(st.tuples(st.dates(first, last), st.dates(first, last)))
    assert content(compile_targets(known, group, one)) == content(compile_targets(known, group, other))


@pytest.mark.parametrize("standard_id", standard_ids())
def test_the_days_on_both_sides_of_a_change_differ_for_some_age_group(standard_id: str) -> None:
    """A boundary that changes nothing is a row cut in two for no reason, or one that is never used."""
    known = standard(standard_id)
    for start in first_days(known)[1:]:
        if start > (known.checked_until or FAR):
            continue
        before = [content(compile_targets(known, g, start - ONE_DAY)) for g in known.age_groups]
        after = [content(compile_targets(known, g, start)) for g in known.age_groups]
        assert before != after, start


@LAW
@given(STANDARDS, st.dates(date(1950, 1, 1), date(2099, 12, 31)))
def test_a_day_outside_the_rows_is_refused_and_named(known: Standard, on: date) -> None:
    first, last = first_and_last_day(known)
    if on < first or (last is not None and on > last):
        with refused(OutsideDates, match=first.isoformat()):
            compile_targets(known, known.age_groups[0], on)
    else:
        table = compile_targets(known, known.age_groups[0], on)
        assert {t.id for t in table.targets} or {t.id for t in table.week_targets}


@LAW
@given(st.data(), STANDARDS)
def test_cutting_a_row_in_two_changes_no_answer(data: st.DataObject, known: Standard) -> None:
    """One row from day a is the same as the row until day b and an equal one from the day after."""
    row = data.draw(st.sampled_from(known.rows))
    cut = data.draw(st.dates(row.from_day, (row.until_day or FAR) - ONE_DAY))
    if cut < row.from_day:
        return
    parts = (row._replace(until_day=cut), row._replace(from_day=cut + ONE_DAY))
    twice = replace(known, rows=tuple(p for r in known.rows for p in (parts if r is row else (r,))))
    group = known.group(row.age_group)
    for on in (row.from_day, cut, cut + ONE_DAY):
        assert content(compile_targets(known, group, on)) == content(compile_targets(twice, group, on))
