"""The changes to a week: each verified here by summing the week anew, by hand arithmetic for the plain cases."""

from datetime import date, timedelta

from service.domain.foods.amounts import ItemVector, sum_of
from service.domain.lunch.changing.changes import Change, ChangeKind, LunchChange, Move
from service.domain.measures import MEASURE_INDEX
from service.domain.weeks.changes import JudgedWeek, after, rank_week_changes
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


def change(kind: ChangeKind, moves: tuple[Move, ...], name: str, size_mg: int = 1000) -> LunchChange:
    return Change(kind, moves, size_mg, (kind, name, ""), (kind, name))


def ranked(days: list[CountedDay], *changes: LunchChange, limit: int = 3) -> list[JudgedWeek]:
    return rank_week_changes(TABLE, days, 5, FIVE_DAYS, week_findings(TABLE, days, 5, FIVE_DAYS), changes, limit)


def found(days: list[CountedDay]) -> dict[str, WeekFinding]:
    return {one.judgement.target.id: one for one in week_findings(TABLE, days, 5, FIVE_DAYS)}


def test_half_a_cup_of_beans_on_one_day_mends_the_legumes_of_the_week() -> None:
    """7 CFR 210.10(c)(2)(ii)(C): half a cup a week; nothing else is moved over a bound."""
    days = week()
    assert found(days)["legume-week"].status == "short"
    (best,) = ranked(days, change("add", (Move(None, BEANS, 2),), "beans"))
    assert best.fixes == ("legume-week",)
    assert found(after(days, best.change))["legume-week"].status == "met"


def test_a_change_that_breaks_a_target_is_never_offered() -> None:
    """6,000 mg more of sodium are 1,200 a day on average, over the 1,110 that the week kept before."""
    assert ranked(week(), change("add", (Move(None, SALTY_BEANS, 2),), "salty beans")) == []


def test_leaving_out_mends_a_mean() -> None:
    """Four days of 2,000 mg are 1,600 on average; without two of them 800: by hand."""
    days = week((0, SALT), (1, SALT), (2, SALT), (3, SALT))
    assert found(days)["sodium"].judgement.amount == 1600
    both = change("remove", (Move(SALT, None, 0), Move(SALT, None, 1)), "salt")
    one = change("remove", (Move(SALT, None, 0),), "less salt", 500)
    best = ranked(days, one, both)
    assert [one.fixes for one in best] == [("sodium",)]  # without one of them it is 1,200, still too much
    assert found(after(days, both))["sodium"].judgement.amount == 800


def test_the_smaller_of_two_that_mend_the_same_comes_first() -> None:
    small = change("add", (Move(None, BEANS, 0),), "few beans", 100)
    large = change("add", (Move(None, BEANS, 1),), "many beans", 900)
    assert [one.change for one in ranked(week(), large, small)] == [small, large]
    assert [one.change for one in ranked(week(), large, small, limit=1)] == [small]


def test_a_daily_rule_counts_the_days_it_newly_keeps() -> None:
    """Milk left out on two days; back on one of them, one day more keeps the rule and the rule is still broken."""
    milk = measured({"fluid_milk_cup": 1})
    dry = measured(
        {"energy_kcal": 600, "meat_alternate_oz_eq": 2, "grain_oz_eq": 2, "fruit_cup": 1, "vegetable_cup": 1}
    )
    days = week()
    for place in (0, 1):
        days[place] = CountedDay(days[place].on, dry, (dry,))
    one = change("add", (Move(None, milk, 0),), "milk once")
    both = change("add", (Move(None, milk, 0), Move(None, milk, 1)), "milk twice", 2000)
    first, second = ranked(days, one, both)
    assert (first.change, first.after) == (both, 2)
    assert {"milk", "milk-week"} <= set(first.fixes)
    assert (second.change, second.after, second.fixes) == (one, 1, ())


def test_less_salt_is_worth_as_many_days_as_it_needs() -> None:
    """Five days of 2,000 mg are 4,450 over 5 x 1,110: three swaps of 1,600 keep the week, two do not, and a fourth is not needed."""
    days = week(*((place, SALT) for place in range(5)))
    plain = measured({"sodium_mg": 400})
    swaps = [
        change("swap", tuple(Move(SALT, plain, place) for place in range(count)), "salt", count)
        for count in range(1, 6)
    ]
    (best,) = ranked(days, *swaps)
    assert len(best.change.where) == 3
    assert "sodium" in best.fixes
    assert best.eases == ()


def test_what_adds_to_what_is_too_much_comes_behind() -> None:
    days = week(*((place, SALT) for place in range(5)))
    salty = measured({"vegetable_legume_cup": "0.5", "vegetable_cup": "0.5", "sodium_mg": 400})
    first, second = ranked(
        days,
        change("add", (Move(None, salty, 1),), "salty beans"),
        change("add", (Move(None, BEANS, 1), Move(None, BEANS, 2)), "beans"),
        limit=2,
    )
    assert [one.change.key[-1] for one in (first, second)] == ["beans", "salty beans"]


def test_what_has_no_figure_is_not_said_to_have_less() -> None:
    days = week(*((place, SALT) for place in range(5)))
    no_figure = ItemVector(BEANS.nominal, ((MEASURE_INDEX["sodium_mg"], 0, None),))
    found_for = ranked(days, change("swap", (Move(SALT, no_figure, 1),), "beans without figures"))
    assert all(one.eases == () for one in found_for)
