"""The energy requirement of a child against the 2023 equations (energy_need.toml, E4 to E7)."""

from typing import Any

import pytest

from service.domain.lunch.energy_need import energy_need
from service.reference.lunch.energy import lunch_share, need_equations
from tests.published.case_files import case_file, cases, ids

FILE = case_file("energy_need.toml")
CASES = cases("energy_need.toml")


@pytest.mark.parametrize("case", CASES, ids=ids(CASES))
def test_the_day_s_need(case: dict[str, Any]) -> None:
    child = {**case["child"], "height_cm": float(case["child"]["height_cm"])}
    child["weight_kg"] = float(child["weight_kg"])
    for activity, kcal in case["expect"].items():
        need = energy_need(need_equations(), lunch_share(), activity=activity, **child)
        assert need.day_kcal == pytest.approx(kcal, abs=FILE["within_kcal"]), activity
        assert need.lunch_kcal == pytest.approx(need.day_kcal * need.lunch_percent / 100, abs=0.07)
