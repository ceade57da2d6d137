"""Bars against what is wanted: too much and enough cannot be mistaken."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.jobs.household.kinds import CHILDREN
from service.jobs.household.weeks.child_week import child_week
from service.jobs.weeks.requests import week_of
from service.web.week.bars import GAP, WIDTH, Came, bar_of
from service.web.week.child_view import child_view
from service.web.week.view import child_row
from service.web.weeks import week_asked
from tests.web.kitchens import Kitchen

BOUNDS = st.floats(0.01, 5000, allow_nan=False, allow_infinity=False)
PARTS = st.one_of(st.floats(0, 30), st.sampled_from([0.0, 0.999, 0.9999, 1.0, 1.0001, 1.001]))
"""Amounts as parts of a bound: far off, and off by less than can be drawn."""


def judged(amount: float, floor: float | None, ceiling: float | None) -> str:
    """What an amount comes to, said without the service."""
    if floor is not None and amount < floor:
        return "short"
    return "over" if ceiling is not None and amount > ceiling else "met"


@pytest.mark.property
@given(BOUNDS, st.floats(1, 20), st.sampled_from(["floor", "ceiling", "both"]), st.lists(PARTS, min_size=1, max_size=5))
def test_a_bar_that_ends_outside_its_band_never_says_enough(
    bound: float, times: float, which: str, parts: list[float]
) -> None:
    floor = None if which == "ceiling" else bound
    ceiling = None if which == "floor" else bound * times if which == "both" else bound
    amounts = [part * bound for part in parts]
    bar = bar_of([Came("", judged(one, floor, ceiling), one, one) for one in amounts], floor, ceiling)
    assert bar is not None
    assert 0 <= bar.band_from < bar.band_to <= WIDTH
    for stroke in bar.strokes:
        assert bar.inside(stroke) == (stroke.status == "met")
        assert stroke.end <= WIDTH
        if stroke.status == "short":
            assert stroke.end <= bar.band_from - GAP + 0.1
        if stroke.status == "over":
            assert stroke.end >= bar.band_to + GAP - 0.1


def test_what_is_not_known_is_open_to_where_it_may_reach() -> None:
    bar = bar_of([Came("", "unknown", 2, None)], 5, None)
    assert bar is not None
    assert bar.strokes[0].end < bar.band_from
    assert bar.strokes[0].until == WIDTH
    bounded = bar_of([Came("", "unknown", 2, 6)], 5, None)
    assert bounded is not None
    assert bounded.band_from < bounded.strokes[0].until < WIDTH


@pytest.mark.parametrize(("floor", "ceiling"), [(None, None), (0.0, None), (None, 0.0)])
def test_nothing_is_drawn_without_a_bound_above_nothing(floor: float | None, ceiling: float | None) -> None:
    assert bar_of([Came("", "met", 1, 1)], floor, ceiling) is None


def test_every_bar_of_the_familys_weeks_says_what_its_figures_say(kitchen: Kitchen, on: date) -> None:
    week = week_of(on)
    drawn = 0
    for nickname, child in kitchen.children.items():
        with kitchen.store.reading() as connection:
            reply = child_week(connection, CHILDREN, kitchen.id, child, week)
        one = {"id": child, "nickname": nickname, "week": reply, "why_not": []}
        view = child_view(one, {}, {}, week_asked(week), "en", may_write=True, may_note=[], faults=[])
        rows = {row["id"]: row for row in [*reply["findings"], *reply["micronutrients"]]}
        for finding in [*view.off, *view.unknown, *view.met, *view.vitamins]:
            for stroke in finding.bar.strokes if finding.bar is not None else []:
                row = rows[finding.key]
                days = {day["date"]: day["amount"] for day in row["days"]}
                amount = days[stroke.name] if stroke.name else row["amount"]
                if stroke.status != "unknown":
                    assert judged(amount, row["at_least"], row["at_most"]) == stroke.status, row["label"]
                    drawn += 1
        assert child_row(one, {}, "en").lacks == view.child.lacks
    assert drawn > 60
