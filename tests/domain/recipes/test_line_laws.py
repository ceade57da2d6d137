"""Whatever is written in a line, the reader answers, and what it says stands in the line."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.recipes.lines import read_line
from service.reference.recipes.words import vocabulary

PARTS = st.lists(
    st.sampled_from(
        ["1", "½", "2", "/", "-", "x", "(", ")", "14", "oz", "can", "cups", "fl", ".", ",", "half", "a", "dozen", "of", "milk", "or",
         "plus", "finely", "chopped", "butter", "1,500", "each", "for", "garnish", "inch", "piece", "%", "0"]
    ),
    max_size=12,
).map(" ".join)  # fmt: skip


@pytest.mark.property
@given(st.one_of(PARTS, st.text(max_size=60)))
def test_any_line_is_answered_and_what_was_read_stands_in_it(line: str) -> None:
    read = read_line(line, vocabulary())
    for start, end in read.spans.values():
        assert 0 <= start < end <= len(line)
    assert read.amount is not None or read.doubts
    if read.amount_to is not None:
        assert "doubt.range" in {one.code for one in read.doubts}
