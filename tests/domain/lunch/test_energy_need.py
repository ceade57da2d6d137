"""Ages the energy equations cover, and what is said outside them."""

import pytest

from service.domain.errors import BadInput
from service.domain.lunch.energy_need import EnergyNeed, energy_need
from service.reference.lunch.energy import lunch_share, need_equations
from tests.refused import refused


def need(months: int, sex: str = "girl") -> EnergyNeed:
    return energy_need(
        need_equations(),
        lunch_share(),
        sex=sex,  # type: ignore[arg-type]
        age_months=months,
        height_cm=120.0,
        weight_kg=25.0,
        activity="active",
    )


@pytest.mark.parametrize("sex", ["girl", "boy"])
def test_every_month_of_childhood_has_one_equation(sex: str) -> None:
    first = min(row.from_age_months for row in need_equations())
    last = max(row.below_age_months for row in need_equations())
    for months in range(first, last):
        rows = [
            row
            for row in need_equations()
            if row.sex == sex
            and row.from_age_months <= months < row.below_age_months
            and row.activity in (None, "active")
        ]
        assert len(rows) == 1, months
        assert need(months, sex).day_kcal > 0


@pytest.mark.parametrize("months", [11, 228, 600])
def test_other_ages_are_refused_with_the_ages_covered(months: int) -> None:
    with refused(BadInput, match="12 to 227 months"):
        need(months)


def test_the_share_of_a_lunch_is_the_stated_one() -> None:
    """30 % of the day: basis of the Scottish standards (technical working group, section 4.1)."""
    one = need(96)
    assert one.lunch_percent == 30.0
    assert one.lunch_kcal == pytest.approx(0.3 * one.day_kcal, abs=0.1)
    assert one.share_source.startswith("gov-scot-twg")
