"""The cheapest diet of 1939 through the rows that plans are made of: to its printed cents."""

import tomllib
from pathlib import Path

import pytest

from service.domain.plan.robust import Row
from service.planning.solver import Model, solve

CASE = tomllib.loads(Path(__file__).with_name("cost_of_subsistence.toml").read_text())
DAYS_A_YEAR = 365.25
"""Of the printed optimum; with 365 days the same diet costs 39.66."""
PARTS = 10_000
"""Figures have up to four places: whole parts of them."""


def cheapest(whole: bool = False) -> tuple[float, dict[str, float]]:
    """Dollars a day, and dollars spent on each food; ``whole``: in whole hundredths of a cent."""
    model = Model()
    step = 0.0001 if whole else 1.0
    foods = {name: model.variable(cost=step, whole=whole) for name in CASE["foods"]}
    rows = [Row(f"need {place}", "", -round(need * PARTS), short=True) for place, need in enumerate(CASE["needs"])]
    for place, row in enumerate(rows):
        terms = {at: -round(CASE["foods"][name][place] * PARTS) * step for name, at in foods.items()}
        model.row(terms, at_most=row.bound)
    found = solve(model, seconds=20)
    assert found.status == "optimal"
    return found.cost, {name: found.values[at] * step for name, at in foods.items() if found.values[at] > 1e-9}


def test_the_cheapest_diet_of_1939() -> None:
    """Printed: 39.69 dollars a year, of five foods."""
    dollars, spent = cheapest()
    assert round(dollars * DAYS_A_YEAR, 2) == CASE["dollars_a_year"]
    assert sorted(spent) == [
        "Cabbage", "Liver (Beef)", "Navy Beans, Dried", "Spinach", "Wheat Flour (Enriched)",
    ]  # fmt: skip


def test_by_hand_it_was_a_little_dearer_and_whole_steps_cost_a_little_more() -> None:
    """Stigler's own diet, found by hand, cost 39.93; one in whole hundredths of a cent lies between."""
    dollars, _spent = cheapest(whole=True)
    assert CASE["dollars_a_year"] <= dollars * DAYS_A_YEAR < CASE["dollars_by_hand"]


@pytest.mark.parametrize("place", range(9))
def test_every_need_is_met(place: int) -> None:
    """Each row is kept, to a millionth."""
    _dollars, spent = cheapest()
    got = sum(CASE["foods"][name][place] * dollars for name, dollars in spent.items())
    assert got >= CASE["needs"][place] * (1 - 1e-6)
