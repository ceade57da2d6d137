"""The day's energy need of one child, for showing next to an age group's range, never instead of it.

Method: estimated energy requirement (EER), National Academies 2023; coefficients in
reference_data/energy. Advice on body or weight is not given.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from service.domain.errors import BadInput
from service.domain.messages import message

Sex = Literal["girl", "boy"]
Activity = Literal["inactive", "low_active", "active", "very_active"]


@dataclass(frozen=True, slots=True)
class EnergyEquation:
    """EER kcal a day = constant + per_year * age + per_cm * height + per_kg * weight + growth."""

    sex: Sex
    activity: Activity | None
    """None: the equation holds for every activity (under 3 years)."""
    from_age_months: int
    below_age_months: int
    constant: float
    per_year: float
    per_cm: float
    per_kg: float
    growth: float
    source: str
    status: str


@dataclass(frozen=True, slots=True)
class EnergyNeed:
    """The day's need in kcal, and the stated share of it that a lunch stands for."""

    day_kcal: float
    lunch_percent: float
    lunch_kcal: float
    source: str
    status: str
    share_source: str
    share_status: str


@dataclass(frozen=True, slots=True)
class LunchShare:
    """The share of a day's energy that a lunch stands for, in percent, with its source."""

    percent: float
    source: str
    status: str


def energy_need(
    equations: Sequence[EnergyEquation],
    share: LunchShare,
    *,
    sex: Sex,
    age_months: int,
    height_cm: float,
    weight_kg: float,
    activity: Activity,
) -> EnergyNeed:
    """Estimate one child's energy requirement and a lunch's share of it.

    Raises ``BadInput`` for an age the equations do not cover.

    ``age_months``, ``height_cm`` and ``weight_kg`` of the child. Source: NASEM 2023, beside each coefficient.

    >>> from service.reference.lunch.energy import lunch_share, need_equations
    >>> body = {"sex": "girl", "age_months": 96, "height_cm": 128.0, "weight_kg": 26.0, "activity": "low_active"}
    >>> need = energy_need(need_equations(), lunch_share(), **body)
    >>> need.day_kcal, need.lunch_percent, need.lunch_kcal
    (1557.0, 30.0, 467.1)
    """
    for row in equations:
        if row.sex != sex or not row.from_age_months <= age_months < row.below_age_months:
            continue
        if row.activity not in (None, activity):
            continue
        day = (
            row.constant
            + row.per_year * (age_months / 12)
            + row.per_cm * height_cm
            + row.per_kg * weight_kg
            + row.growth
        )
        return EnergyNeed(
            round(day, 1),
            share.percent,
            round(day * share.percent / 100, 1),
            row.source,
            row.status,
            share.source,
            share.status,
        )
    first = min(row.from_age_months for row in equations)
    last = max(row.below_age_months for row in equations)
    raise BadInput(
        field="age_months",
        value=age_months,
        problem=message("fault.no-energy-equation", first=first, last=last - 1),
    )
