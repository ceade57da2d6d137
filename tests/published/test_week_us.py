"""The US school week: the printed scaling of its amounts (H), the five-day menu (G-2), measured lunches (G-3, G-4)."""

from datetime import date, timedelta
from fractions import Fraction
from typing import Any

import pytest

from service.domain.foods.amounts import ItemVector, add_up, sum_of
from service.domain.lunch.findings import judge
from service.domain.measures import SCALE
from service.domain.weeks.week import CountedDay, as_total_for, week_findings
from service.domain.weeks.words import week_message
from service.reference.weeks.lengths import week_lengths
from tests.builders import food, measured, table, vector
from tests.published.case_files import case_file, cases, ids
from tests.published.test_five_day_menu import SUBGROUP_OF
from tests.week_days import MONDAY, bought, finding, statuses, summed

SCALING = cases("week_scaling.toml")
MENU = case_file("five_day_menu.toml")
MEASURED = {case["id"][:3]: case for case in reversed(cases("measured_lunches.toml", "lunch"))}
"""By number; of G-3 the lunch selected, which stands before the one consumed."""
LENGTHS = week_lengths("us-school-lunch")


@pytest.mark.parametrize("case", SCALING, ids=ids(SCALING))
def test_the_amounts_of_a_week_by_its_length(case: dict[str, Any]) -> None:
    """The bound shown, and the bound judged: met at it, short a thousandth below."""
    rows = {one.id: one for one in table("us-school-lunch", case["group"], date(2026, 12, 1)).week_targets}
    for target_id, printed in case["expect"].items():
        scaled = as_total_for(rows[target_id], case["group"], case["days"], LENGTHS)
        assert scaled.at_least == float(printed), target_id
        for gap, status in ((0, "met"), (Fraction(1, 1000), "short")):
            least = Fraction(str(printed)) - gap
            (measure, _weight), *_others = scaled.shown_terms
            nominal = [0] * 42
            nominal[measure] = int(least * SCALE)
            assert judge(scaled, add_up([ItemVector(tuple(nominal), ())])).status == status, target_id


@pytest.mark.parametrize("case", SCALING, ids=ids(SCALING))
def test_the_upper_ends_of_the_ranges_are_told_and_decide_nothing(case: dict[str, Any]) -> None:
    """Above the printed range a week keeps the rule all the same: guides only, not enforced."""
    plenty = measured({"grain_oz_eq": 100, "meat_alternate_oz_eq": 100})
    found = {
        one.judgement.target.id: one
        for one in week_findings(
            table("us-school-lunch", case["group"], MONDAY), [CountedDay(MONDAY, plenty)], case["days"], LENGTHS
        )
    }
    for target_id, printed in case["guide"].items():
        assert found[target_id].guide_at_most == float(printed)
        assert found[target_id].status == "met"
        said = week_message(found[target_id], case["days"], [], [], [])
        assert "week.above-guide" in [one.code for one in said.params["notes"]]
    assert found["fruit-week"].guide_at_most is None


def test_a_week_of_four_days_goes_by_the_day() -> None:
    """Ours, no source: four fifths of the five-day amounts; the subgroups stay."""
    rows = {one.id: one for one in table("us-school-lunch", "grades-k-5", date(2026, 12, 1)).week_targets}
    assert as_total_for(rows["grain-week"], "grades-k-5", 4, LENGTHS).at_least == 6.4
    assert as_total_for(rows["grain-week"], "grades-k-5", 4, LENGTHS).status == "proposed"
    assert as_total_for(rows["dark-green-week"], "grades-k-5", 4, LENGTHS).at_least == 0.5


@pytest.mark.parametrize("group", list(MENU["verdict"]))
def test_the_five_day_menu_as_a_week(group: str) -> None:
    """G-2: every subgroup in elementary grades, red and orange and one day's vegetables short in grades 9 to 12."""
    days = []
    for place, day in enumerate(MENU["case"]):
        items = []
        for row in day["vegetables"]:
            credit = Fraction(1, 2) if row.get("leafy") else 1
            items.append(
                vector(food(row["food"], credits={SUBGROUP_OF[row["food"]]: credit}), Fraction(row["cups"]) * 100)
            )
        days.append(CountedDay(MONDAY + timedelta(days=place), sum_of(items)))
    found = {
        one.judgement.target.id: one for one in week_findings(table("us-school-lunch", group, MONDAY), days, 5, LENGTHS)
    }
    expected = MENU["verdict"][group]
    assert {target: found[target].status for target in expected["week"]} == expected["week"]
    assert [one.status for _on, one in found["vegetable"].days] == list(expected["days"].values())
    assert found["vegetable"].status == ("short" if "short" in expected["days"].values() else "met")


def figures_of(case: dict[str, Any]) -> dict[str, float]:
    return {name: float(value) for name, value in case["figures"].items()}


def test_measured_lunches_bought_on_every_day() -> None:
    """G-3: 611 kcal is within 550 to 650, 1,500 mg of sodium over 1,110; five equal days have the mean of one."""
    case = MEASURED["G-3"]
    reply = summed([bought(MONDAY + timedelta(days=day), facts=figures_of(case)) for day in range(5)])
    energy, sodium = finding(reply, "energy"), finding(reply, "sodium")
    assert (energy["status"], energy["amount"]) == ("met", float(case["figures"]["energy_kcal"]))
    assert (sodium["status"], sodium["amount"]) == ("over", float(case["figures"]["sodium_mg"]))
    assert statuses(reply)["vegetable-week"] == "unknown"


def test_a_low_day_evens_out_a_high_one() -> None:
    """G-4 has 1,134 mg of sodium, 24 mg over; with a day of 1,086 mg the mean is 1,110 by hand, the bound itself."""
    figures = figures_of(MEASURED["G-4"])
    assert figures["sodium_mg"] == 1134
    days = [bought(MONDAY, facts=figures)]
    assert statuses(summed(days))["sodium"] == "over"
    for other, status, mean in ((1086, "met", 1110), (1087, "over", 1110.5)):
        both = [*days, bought(MONDAY + timedelta(days=1), facts={**figures, "sodium_mg": other})]
        sodium = finding(summed(both), "sodium")
        assert (sodium["status"], sodium["amount"], sodium["over_days"]) == (status, mean, 2)


def test_the_mean_of_shares_is_the_share_of_sums() -> None:
    """By hand: 12 g of 600 kcal (18 %) and none of 1,000 kcal make 12 x 9 of 1,600 kcal: 6.75 %, not 9 %."""
    first = measured({"energy_kcal": 600, "saturated_fat_g": 12})
    second = measured({"energy_kcal": 1000})
    days = [CountedDay(MONDAY, first), CountedDay(MONDAY + timedelta(days=1), second)]
    found = week_findings(table("us-school-lunch", "grades-k-5", MONDAY), days, 2, LENGTHS)
    share = next(one.judgement for one in found if one.judgement.target.id == "saturated-fat")
    assert share.amount == pytest.approx(6.75)
    assert share.status == "met"


def test_added_sugars_are_judged_from_july_2027_on() -> None:
    """7 CFR 210.10(b)(2)(iii): less than 10 % of energy over the week from 2027-07-01 (the week after 1 July)."""
    menu = {"energy_kcal": 600, "added_sugars_g": 15}
    before = summed([bought(date(2027, 6, 21), facts=menu)], week="2027-W25")
    after = summed([bought(date(2027, 7, 5), facts=menu)], week="2027-W27")
    assert "added-sugars" not in statuses(before)
    assert finding(after, "added-sugars")["status"] == "over"
    assert finding(after, "added-sugars")["amount"] == 10.0


def test_a_third_of_the_days_reference() -> None:
    """DRI tables: 10 mg of iron a day at ages 4 to 8; a third is 3.333 mg, so 3.34 reaches it and 3.33 does not."""
    for iron, status in ((3.34, "met"), (3.33, "short")):
        assert finding(summed([bought(MONDAY, facts={"iron_mg": iron})]), "third-iron-mg")["status"] == status
