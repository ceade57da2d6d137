"""The text of a label: laws that hold for any text and any room."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.plan.label_text import ELLIPSIS, LEADING, SMALLEST, Line, NoRoom, placed

WORDS = st.lists(st.text("abcdeéß", min_size=1, max_size=25), min_size=1, max_size=12).map(" ".join)
LINES = st.lists(st.builds(Line, WORDS, st.floats(5, 14), st.booleans(), st.booleans()), min_size=1, max_size=6)


def width_of(text: str, bold: bool, points: float) -> float:
    return len(text) * points * (0.6 if bold else 0.5)


@pytest.mark.property
@given(LINES, st.floats(8, 300), st.floats(5, 200))
def test_nothing_leaves_the_room_and_what_must_stand_stands_in_full(
    lines: list[Line], width: float, height: float
) -> None:
    try:
        rows = placed(lines, width, height, width_of)
    except NoRoom:
        return
    below = 0.0
    for row in rows:
        assert width_of(row.text, row.bold, row.points) <= width + 1e-6
        assert row.points >= SMALLEST
        below += row.points * LEADING
        assert row.below == pytest.approx(below)
    assert below <= height + 1e-6
    text = "".join(row.text for row in rows).replace(" ", "")
    for line in lines:
        if line.whole:
            assert line.text.replace(" ", "") in text
    if all(line.whole for line in lines):
        assert ELLIPSIS not in text


@pytest.mark.property
@given(LINES)
def test_with_much_room_nothing_is_made_smaller_or_shortened(lines: list[Line]) -> None:
    rows = placed(lines, 5_000, 5_000, width_of)
    assert [(row.text, row.points) for row in rows] == [(" ".join(one.text.split()), one.points) for one in lines]


def test_where_allergens_have_no_room_there_is_no_label() -> None:
    with pytest.raises(NoRoom):
        placed([Line("Contains: " + "a, " * 200, 9)], 50, 20, width_of)


def test_a_long_name_makes_room_for_the_allergens() -> None:
    lines = [Line("casserole " * 30, 13, whole=False), Line("Contains: milk", 9)]
    rows = placed(lines, 60, 20, width_of)
    assert rows[-1].text == "Contains: milk"
    assert rows[-2].text.endswith(ELLIPSIS)
