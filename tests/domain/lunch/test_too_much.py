"""What there is far too much of, and how much of it a change takes away: by hand arithmetic on Scotland's 686 mg of sodium."""

from datetime import date

import pytest

from service.domain.foods.amounts import ItemVector, add_up
from service.domain.lunch.changing.changes import Change, ChangeKind, LunchChange, Move
from service.domain.lunch.changing.ranking import AS_IT_IS, rank_changes, totals_after
from service.domain.lunch.changing.too_much import far_too_much, is_at_fault, taken_away
from service.domain.lunch.findings import judge
from service.domain.lunch.judging_arrays import judge_many
from service.domain.measures import MEASURE_INDEX
from tests.builders import measured, table

SCOTLAND = table("gb-sct-school-lunch", "primary", date(2026, 11, 30)).targets
SODIUM = next(one for one in SCOTLAND if one.id == "sodium")
HAM = measured({"energy_kcal": 250, "sodium_mg": 886})
SOUP = measured({"energy_kcal": 80, "sodium_mg": 486})
EGG = measured({"energy_kcal": 250, "sodium_mg": 386})
NO_FIGURE = ItemVector(measured({"energy_kcal": 250}).nominal, ((MEASURE_INDEX["sodium_mg"], 0, None),))
LUNCH = [HAM, SOUP]
"""1,372 mg: 686 too much."""


def change(kind: ChangeKind, out: ItemVector | None, into: ItemVector | None) -> LunchChange:
    return Change(kind, (Move(out, into),), 1, (kind, str(id(into)), ""), (kind, str(id(out))))


def taken(*changes: LunchChange) -> list[float]:
    judged = [judge(one, add_up(LUNCH)) for one in SCOTLAND]
    many = [judge_many(one, totals_after(LUNCH, [*changes, AS_IT_IS])) for one in SCOTLAND]
    (row,) = taken_away(judged, many)
    return [round(float(one), 6) for one in row]


@pytest.mark.parametrize(("sodium_mg", "far"), [(686, False), (857, False), (858, True), (1372, True)])
def test_far_too_much_begins_a_quarter_above_the_most(sodium_mg: int, far: bool) -> None:
    judged = [judge(SODIUM, add_up([measured({"energy_kcal": 500, "sodium_mg": sodium_mg})]))]
    assert far_too_much(judged) == ([SODIUM] if far else [])


def test_at_fault_is_what_brings_a_third_of_the_most() -> None:
    assert is_at_fault(HAM, [SODIUM])
    assert is_at_fault(measured({"sodium_mg": 229}), [SODIUM])
    assert not is_at_fault(measured({"sodium_mg": 228}), [SODIUM])
    assert not is_at_fault(HAM, [])


def test_the_part_of_the_excess_that_a_change_takes_away() -> None:
    """500 of 686; 486 of 686; 343 more; 1,372 more is no worse than once the excess."""
    changes = [
        change("swap", HAM, EGG),
        change("remove", SOUP, None),
        change("add", None, measured({"sodium_mg": 343})),
        change("add", None, measured({"sodium_mg": 1372})),
    ]
    assert taken(*changes) == [round(500 / 686, 6), round(486 / 686, 6), -0.5, -1.0]


def test_what_has_no_figure_takes_nothing_away() -> None:
    assert taken(change("swap", HAM, NO_FIGURE)) == [-1.0]


def test_what_is_eased_is_named_where_it_is_not_kept() -> None:
    judged = [judge(one, add_up(LUNCH)) for one in SCOTLAND]
    swap = change("swap", HAM, measured({"energy_kcal": 360, "sodium_mg": 386}))
    (found,) = rank_changes(SCOTLAND, judged, LUNCH, [swap], 5)
    assert found.fixes == ("energy",)
    assert found.eases == ("sodium",)
