"""Which change comes first, what is left out, and what makes no change worth telling."""

from datetime import date

from service.domain.foods.amounts import ItemVector, add_up
from service.domain.lunch.changing.changes import Change, Judged, LunchChange, Move, Moves
from service.domain.lunch.changing.ranking import rank_changes
from service.domain.lunch.findings import judge
from tests.builders import measured, table

US = table("us-school-lunch", "grades-k-5", date(2025, 9, 1)).targets
LUNCH = [measured({"energy_kcal": 600, "sodium_mg": 500, "fluid_milk_cup": 1, "grain_oz_eq": 1, "vegetable_cup": 1})]
"""Short of fruit and of meat or meat alternate, everything else is met."""

FRUIT = measured({"fruit_cup": "0.5"})
MEAT = measured({"meat_alternate_oz_eq": 1})
BOTH = measured({"fruit_cup": "0.5", "meat_alternate_oz_eq": 1})
SALTY_BOTH = measured({"fruit_cup": "0.5", "meat_alternate_oz_eq": 1, "sodium_mg": 700})


def add(into: ItemVector, name: str, *, size: int = 10, family: str = "", other: tuple[str, ...] = ()) -> LunchChange:
    moves = (Move(None, into),)
    return Change("add", moves, size, ("add", family or name, ""), ("add", name), fixes_beside=other)


def ranked(*changes: LunchChange, limit: int = 5, lunch: list[ItemVector] = LUNCH) -> list[Judged[Moves, float]]:
    totals = add_up(lunch)
    return rank_changes(US, [judge(target, totals) for target in US], lunch, changes, limit)


def names(rows: list[Judged[Moves, float]]) -> list[str]:
    return [row.change.key[-1] for row in rows]


def test_what_mends_more_comes_first() -> None:
    rows = ranked(add(FRUIT, "fruit"), add(BOTH, "both"), add(MEAT, "meat"))
    assert names(rows)[0] == "both"
    assert set(rows[0].fixes) == {"fruit", "meat-alternate"}


def test_a_change_that_breaks_a_met_target_is_never_told() -> None:
    """1,200 mg of sodium pass 1,110: two targets fixed do not buy one that breaks."""
    assert names(ranked(add(SALTY_BOTH, "salty"), add(FRUIT, "fruit"))) == ["fruit"]


def test_an_allergen_mended_comes_before_targets() -> None:
    rows = ranked(add(BOTH, "both"), add(FRUIT, "fruit", other=("allergen:egg",)))
    assert names(rows) == ["fruit", "both"]


def test_among_equals_the_smaller_then_the_name() -> None:
    rows = ranked(add(FRUIT, "plum", size=60), add(FRUIT, "pear", size=150), add(FRUIT, "fig", size=60))
    assert names(rows) == ["fig", "plum", "pear"]


def test_one_of_a_family() -> None:
    rows = ranked(add(FRUIT, "fig", family="fruit"), add(FRUIT, "plum", family="fruit"), add(MEAT, "egg"))
    assert sorted(names(rows)) == ["egg", "fig"]


def test_what_mends_nothing_is_not_told() -> None:
    assert ranked(add(measured({"water_g": 200}), "water")) == []


def test_no_more_than_asked_for_and_none_of_none() -> None:
    assert len(ranked(add(FRUIT, "fig"), add(MEAT, "egg"), limit=1)) == 1
    assert ranked(add(FRUIT, "fig"), limit=0) == []
    assert ranked() == []
