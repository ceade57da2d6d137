"""The changes to a week: each verified here by summing the week anew, by hand arithmetic for the plain cases."""

from datetime import date, timedelta

from service.domain.foods.amounts import sum_of
from service.domain.weeks.changes import Move, RankedWeek, WeekCandidate, after, rank_week_changes
from service.domain.weeks.week import FIVE_DAYS, CountedDay, WeekFinding, week_findings
from tests.builders import measured, table

MONDAY = date(2026, 11, 30)
TABLE = table("us-school-lunch", "grades-k-5", MONDAY)
KEPT = ("met", "not_applicable")

PLAIN = measured(
    {
        "energy_kcal": 600,
        "fluid_milk_cup": 1,
        "meat_alternate_oz_eq": 2,
        "grain_oz_eq": 2,
        "whole_grain_rich_oz_eq": 2,
        "fruit_cup": 1,
        "vegetable_cup": 1,
        "vegetable_red_orange_cup": 1,
    }
)
BEANS = measured({"energy_kcal": 10, "vegetable_legume_cup": "0.5", "vegetable_cup": "0.5"})
SALT = measured({"sodium_mg": 2000})
SALTY_BEANS = measured({"sodium_mg": 6000, "vegetable_legume_cup": "0.5", "vegetable_cup": "0.5"})


def week(*extra: tuple[int, object]) -> list[CountedDay]:
    days = []
    for place in range(5):
        parts = (PLAIN, *(one for on, one in extra if on == place))
        days.append(CountedDay(MONDAY + timedelta(days=place), sum_of(parts), parts))  # type: ignore[arg-type]
    return days


def candidate(kind: str, moves: tuple[Move, ...], name: str, size_mg: int = 1000) -> WeekCandidate:
    return WeekCandidate(kind, moves, (kind, name, ""), size_mg, (kind, name))  # type: ignore[arg-type]


def ranked(days: list[CountedDay], *candidates: WeekCandidate, limit: int = 3) -> list[RankedWeek]:
    return rank_week_changes(TABLE, days, 5, FIVE_DAYS, candidates, limit)


def found(days: list[CountedDay]) -> dict[str, WeekFinding]:
    return {one.judgement.target.id: one for one in week_findings(TABLE, days, 5, FIVE_DAYS)}


def test_half_a_cup_of_beans_on_one_day_mends_the_legumes_of_the_week() -> None:
    """7 CFR 210.10(c)(2)(ii)(C): half a cup a week; nothing else is moved over a bound."""
    days = week()
    assert found(days)["legume-week"].status == "short"
    (best,) = ranked(days, candidate("add", (Move(2, None, BEANS),), "beans"))
    assert best.mends == ("legume-week",)
    assert found(after(days, best.candidate))["legume-week"].status == "met"


def test_a_change_that_breaks_a_target_is_never_offered() -> None:
    """6,000 mg more of sodium are 1,200 a day on average, over the 1,110 that the week kept before."""
    assert ranked(week(), candidate("add", (Move(2, None, SALTY_BEANS),), "salty beans")) == []


def test_leaving_out_mends_a_mean() -> None:
    """Four days of 2,000 mg are 1,600 on average; without two of them 800: by hand."""
    days = week((0, SALT), (1, SALT), (2, SALT), (3, SALT))
    assert found(days)["sodium"].judgement.amount == 1600
    both = candidate("remove", (Move(0, SALT, None), Move(1, SALT, None)), "salt")
    one = candidate("remove", (Move(0, SALT, None),), "less salt", 500)
    best = ranked(days, one, both)
    assert [change.mends for change in best] == [("sodium",), ()]
    assert found(after(days, both))["sodium"].judgement.amount == 800


def test_the_smaller_of_two_that_mend_the_same_comes_first() -> None:
    small = candidate("add", (Move(0, None, BEANS),), "few beans", 100)
    large = candidate("add", (Move(1, None, BEANS),), "many beans", 900)
    assert [one.candidate for one in ranked(week(), large, small)] == [small, large]
    assert [one.candidate for one in ranked(week(), large, small, limit=1)] == [small]


def test_a_daily_rule_counts_the_days_it_newly_keeps() -> None:
    """Milk left out on two days; back on one of them, one day more keeps the rule and the rule is still broken."""
    milk = measured({"fluid_milk_cup": 1})
    dry = measured(
        {"energy_kcal": 600, "meat_alternate_oz_eq": 2, "grain_oz_eq": 2, "fruit_cup": 1, "vegetable_cup": 1}
    )
    days = week()
    for place in (0, 1):
        days[place] = CountedDay(days[place].on, dry, (dry,))
    one = candidate("add", (Move(0, None, milk),), "milk once")
    both = candidate("add", (Move(0, None, milk), Move(1, None, milk)), "milk twice", 2000)
    first, second = ranked(days, one, both)
    assert (first.candidate, first.days_mended) == (both, 2)
    assert {"milk", "milk-week"} <= set(first.mends)
    assert (second.candidate, second.days_mended, second.mends) == (one, 1, ())
