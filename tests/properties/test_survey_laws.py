"""Laws of the survey of a branch: written out, counted, and tried one by one, it is the same."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.counting.spans import NO_END, Rule
from service.domain.counting.survey import RowRule, Survey, Values, survey

VALUE = st.integers(-20, 20)
BOUND = st.none() | st.integers(-40, 40)


@st.composite
def asked(draw: st.DrawFn) -> tuple[Values, list[RowRule], list[RowRule]]:
    """Rows over one to four lists, some with unknown values, and two sets of rules on them."""
    sizes = tuple(draw(st.lists(st.integers(1, 4), min_size=1, max_size=4)))
    options = sum(sizes)
    rows = draw(st.integers(1, 4))
    low = np.array(draw(st.lists(st.lists(VALUE, min_size=options, max_size=options), min_size=rows, max_size=rows)))
    high = low.copy()
    for row in range(rows):
        for option in draw(st.lists(st.integers(0, options - 1), max_size=2)):
            width = draw(st.sampled_from((1, 5, None)))
            high[row, option] = NO_END if width is None else low[row, option] + width
    if (low == high).all():
        high = low
    idle = [np.array(draw(st.lists(st.booleans(), min_size=size, max_size=size))) for size in sizes]

    def rules(number: int) -> list[RowRule]:
        made = []
        for _ in range(number):
            certain, rests = draw(st.booleans()), draw(st.booleans())
            least, most = draw(BOUND), draw(BOUND)
            if least is not None and most is not None and least > most:
                least, most = most, least
            row = draw(st.integers(0, rows - 1))
            made.append((row, Rule(least, most, certain, idle if rests else None)))
        return made

    return Values(low, high, sizes), rules(draw(st.integers(1, 4))), rules(draw(st.integers(0, 4)))


def facts(found: Survey) -> tuple[object, ...]:
    """All that a survey says."""
    broken = [found.failures_by_option(at, short=short) for at in range(len(found.limits)) for short in (True, False)]
    return found.total, found.right, found.wrong, found.unknown, found.limits, found.own, found.options(), broken


def one_by_one(values: Values, rules: list[RowRule]) -> list[list[tuple[bool, bool, bool]]]:
    """Of every combination and rule: kept, short, over, each for certain."""
    starts = [sum(values.sizes[:place]) for place in range(len(values.sizes))]
    judged = []
    for chosen in product(*(range(size) for size in values.sizes)):
        columns = [start + option for start, option in zip(starts, chosen, strict=True)]
        here = []
        for row, rule in rules:
            low, high = (sum(int(ends[row, column]) for column in columns) for ends in (values.low, values.high))
            if rule.idle is not None and all(mask[option] for mask, option in zip(rule.idle, chosen, strict=True)):
                here.append((True, False, False))
                continue
            least = -(1 << 62) if rule.at_least is None else rule.at_least
            most = 1 << 62 if rule.at_most is None else rule.at_most
            here.append((low >= least and high <= most, high < least, low > most))
        judged.append(here)
    return judged


@pytest.mark.property
@settings(max_examples=200, deadline=None)
@given(asked())
def test_written_out_counted_and_one_by_one_agree(
    branch: tuple[Values, list[RowRule], list[RowRule]],
) -> None:
    values, limits, own = branch
    written = survey(values, limits, own)
    assert facts(written) == facts(survey(values, limits, own, written_most=0))
    judged = one_by_one(values, limits)
    wrong = [any(short or over for _kept, short, over in here) for here in judged]
    right = [
        not broken and all(kept or rule.only_if_certain for (kept, *_), (_row, rule) in zip(here, limits, strict=True))
        for here, broken in zip(judged, wrong, strict=True)
    ]
    assert (written.total, written.right, written.wrong) == (len(judged), sum(right), sum(wrong))
    for place, row in enumerate(written.limits):
        found = [here[place] for here in judged]
        assert tuple(row[:3]) == tuple(sum(one[side] for one in found) for side in range(3))
    alone = survey(values, limits)
    assert (alone.right, alone.wrong, alone.options()) == (written.right, written.wrong, written.options())
