"""A bought meal counts by the figures its menu gives; what is not given is unknown, and no figures at all is no day."""

from datetime import timedelta
from typing import Any

import pytest

from tests.week_days import MONDAY, bought, finding, item, packed_week, summed

LUNCH = [
    item("bread-whole-wheat", 64),
    item("cheese-cheddar", 28),
    item("apple"),
    item("carrots-raw", 60),
    item("milk-skim", 246),
]
DAYS = [MONDAY + timedelta(days=place) for place in range(5)]
FRIDAY = DAYS[4]
FAT = {"energy_kcal": 600, "saturated_fat_g": 30}
MILK = {"component": "fluid_milk", "per_serving": 1}
MEAT = {"component": "meat_alternate", "per_serving": 2}


@pytest.mark.parametrize("menu", [
    {}, {"name": "fish and chips"}, {"name": "fish and chips", "facts": {}}, {"facts": {"energy_kcal": None}},
    {"name": "fish and chips", "credits": []},
])  # fmt: skip
def test_a_menu_without_a_figure_is_a_day_without_figures(menu: dict[str, Any]) -> None:
    """The means are those of the four days that have figures, and the day is named."""
    four = packed_week([LUNCH] * 4)
    reply = summed([*four, bought(FRIDAY, **menu)])
    assert reply["means"] == summed(four)["means"]
    assert (reply["counted_days"], reply["shown_apart"]) == (4, [FRIDAY.isoformat()])
    assert reply["trend"][-1]["means"]["energy_kcal"]["complete"]
    assert any(FRIDAY.strftime("%A") in note for note in reply["notes"])


def test_how_much_of_a_bought_meals_fat_is_milk_fat_is_not_known() -> None:
    """7 CFR 210.10(f): less than 10 % of the energy from saturated fat; since 14 January 2026 without that of
    fluid milk (Public Law 119-69).

    150 g of saturated fat on five days of 600 kcal are 45 %: too much if it is not milk's, and nobody has said.
    """
    days = [bought(day, facts=FAT) for day in DAYS]
    assert finding(summed(days), "saturated-fat")["status"] == "unknown"
    unprinted = [*packed_week([LUNCH] * 4), bought(FRIDAY, facts={"energy_kcal": 600})]
    found = finding(summed(unprinted), "saturated-fat")
    assert (found["status"], found["amount_low"], found["amount_high"]) == ("unknown", 0, None)
    with_milk = [bought(day, facts=FAT, credits=[MILK, MEAT]) for day in DAYS]
    assert finding(summed(with_milk), "saturated-fat")["status"] == "unknown"
    without = [bought(day, facts=FAT, credits=[MEAT]) for day in DAYS]
    assert finding(summed(without), "saturated-fat")["status"] == "over"


def test_little_fat_is_little_with_milk_or_without() -> None:
    """5 g on 600 kcal are 7.5 % at most."""
    days = [bought(day, facts={"energy_kcal": 600, "saturated_fat_g": 5}) for day in DAYS]
    assert finding(summed(days), "saturated-fat")["status"] == "met"
