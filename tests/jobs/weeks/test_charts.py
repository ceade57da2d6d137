"""What the printed page and its charts say cannot be mistaken: floors and ceilings apart, the low end where that is all
that is known, and no line across a week without lunches.
"""

import re
from datetime import timedelta
from typing import Any

import pytest

pytest.importorskip("matplotlib", reason="extra: reports")

from service.jobs.weeks.charts import targets_chart, trend_chart
from service.jobs.weeks.page import week_page
from tests.week_days import MONDAY, bought, finding, item, packed_week, summed

LUNCH = [
    item("bread-whole-wheat", 64),
    item("cheese-cheddar", 28),
    item("apple"),
    item("carrots-raw", 60),
    item("milk-skim", 246),
]


def said(chart: str | None) -> str:
    """The description of a chart, for who cannot see it."""
    found = re.search(r"<desc[^>]*>(.*?)</desc>", chart or "", re.DOTALL)
    assert found is not None
    return found[1]


def test_floors_and_ceilings_are_charted_apart() -> None:
    """Energy is a floor, sodium a ceiling: a long bar is good for one and bad for the other."""
    floors, ceilings = said(targets_chart(summed(packed_week([LUNCH] * 5)))).split("At most: ")
    assert "energy" in floors
    assert "sodium" not in floors
    assert "sodium" in ceilings
    assert "energy" not in ceilings


def test_too_much_is_a_percentage_of_the_most() -> None:
    """1,300 kcal where 550 to 650 are asked for: twice the most, not 236 % of the least."""
    days = [bought(MONDAY + timedelta(days=place), facts={"energy_kcal": 1300}) for place in range(5)]
    reply = summed(days)
    assert finding(reply, "energy")["status"] == "over"
    assert "energy 200 % too much" in said(targets_chart(reply)).split("At most: ")[1]


def unknown_sodium() -> dict[str, Any]:
    """A food without a figure on one of five days: what is known is the low end."""
    bar = {"food": {"name": "bar", "serving": {"grams": 40}, "facts": {"energy_kcal": 170}}}
    return summed(packed_week([*[LUNCH] * 4, [*LUNCH, bar]]))


def test_what_is_known_at_least_is_the_low_end() -> None:
    reply = unknown_sodium()
    sodium = finding(reply, "sodium")
    assert (sodium["status"], sodium["amount_high"]) == ("unknown", None)
    assert f"sodium ≥ {100 * sodium['amount_low'] / 1110:.0f} %" in said(targets_chart(reply))
    assert f"≥ {sodium['amount_low']:.0f} mg" in week_page(reply)


def test_a_range_is_printed_as_a_range() -> None:
    """30 g of saturated fat on 600 kcal are 45 %, of which any part may be that of milk: 0 to 45 %, never at least 45 %."""
    days = [
        bought(MONDAY + timedelta(days=place), facts={"energy_kcal": 600, "saturated_fat_g": 30}) for place in range(5)
    ]
    page = week_page(summed(days))
    assert "0 to 45" in page
    assert "≥ 45" not in page


def test_no_line_runs_across_a_week_without_lunches() -> None:
    """Lunches of weeks 45 and 49: three weeks lie between, and each has its place."""
    chart = trend_chart(summed(packed_week([LUNCH] * 5) + packed_week([LUNCH] * 5, MONDAY - timedelta(weeks=4))))
    assert chart is not None
    for week in ("W45", "W46", "W47", "W48", "W49"):
        assert week in chart


def test_a_mean_that_is_not_complete_is_marked_in_the_trend() -> None:
    bar = {"food": {"name": "bar", "serving": {"grams": 40}, "facts": {"sodium_mg": 75}}}
    reply = summed(packed_week([[*LUNCH, bar]] * 5) + packed_week([LUNCH] * 5, MONDAY - timedelta(weeks=1)))
    (earlier, this) = (week["means"]["energy_kcal"] for week in reply["trend"])
    assert (earlier["complete"], this["complete"]) == (True, False)
    assert f"at least {this['mean_low']:.0f}" in week_page(reply)


def test_a_days_cost_is_at_least_what_is_known() -> None:
    """An apple of 182 g, 202.2 g with its core, at 2.00 a kilogram."""
    price = {"food": "apple", "amount_minor": 200, "currency": "USD", "pack_grams": 1000, "from": "2026-01-01"}
    page = week_page(summed(packed_week([LUNCH]), prices=[price]))
    assert "Monday: at least 0.40 USD" in page
    assert "and more" not in page


def test_a_price_for_a_food_that_is_not_known_is_said() -> None:
    """A misspelt id prices nothing; one of a food that was not packed is nothing to speak of."""
    price = {"amount_minor": 200, "currency": "USD", "pack_grams": 1000, "from": "2026-01-01"}
    own = {"food": {"name": "oat bar", "serving": {"grams": 40}, "facts": {"energy_kcal": 170}}}
    reply = summed(packed_week([[own]]), prices=[{**price, "food": one} for one in ("aple", "pear", "oat bar")])
    (note,) = [one for one in reply["note_messages"] if one["code"] == "week-note.price-of-no-food"]
    assert note["params"]["names"] == ["aple"]


def test_one_day_is_a_day() -> None:
    """A week of one school day."""
    page = week_page(summed(packed_week([LUNCH]), school_days=[MONDAY.isoformat()]))
    assert "1 of 1 day<" in page
    assert "1 days" not in page
