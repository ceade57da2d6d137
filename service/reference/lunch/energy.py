"""The energy equations of reference_data/energy, read once when a child's need is asked for."""

from decimal import Decimal
from functools import lru_cache
from typing import Literal

from pydantic import Field

from service.domain.lunch.energy_need import Activity, EnergyEquation, LunchShare, Sex
from service.reference.files import FileModel, Noted, data_path, read_toml


class EquationRow(Noted):
    """One equation for one age span."""

    sex: Sex
    activity: Activity | None = None
    from_age_months: int
    below_age_months: int
    constant: Decimal
    per_year: Decimal
    per_cm: Decimal
    per_kg: Decimal
    growth: Decimal


class ActivityLevelRow(Noted):
    """The physical activity level that a category stands for; information."""

    activity: Literal["inactive", "low_active", "active", "very_active"]
    from_age_months: int
    below_age_months: int
    pal_from: Decimal
    pal_below: Decimal


class LunchShareRow(Noted):
    """The share of the day that a lunch stands for."""

    percent: Decimal = Field(gt=0, le=100)


class EnergyFile(FileModel):
    """Equations, activity levels and the lunch share."""

    id: str
    title: str
    source: str
    note: str = ""
    equation: list[EquationRow]
    activity_level: list[ActivityLevelRow] = []
    lunch_share: LunchShareRow


@lru_cache(maxsize=1)
def energy_file() -> EnergyFile:
    """The file, read once."""
    return read_toml(data_path("energy/nasem-2023.toml"), EnergyFile)


@lru_cache(maxsize=1)
def need_equations() -> tuple[EnergyEquation, ...]:
    """The equations as domain rows."""
    return tuple(
        EnergyEquation(
            row.sex,
            row.activity,
            row.from_age_months,
            row.below_age_months,
            float(row.constant),
            float(row.per_year),
            float(row.per_cm),
            float(row.per_kg),
            float(row.growth),
            row.source,
            row.status,
        )
        for row in energy_file().equation
    )


@lru_cache(maxsize=1)
def lunch_share() -> LunchShare:
    """The stated share of a day's energy for lunch."""
    share = energy_file().lunch_share
    return LunchShare(float(share.percent), share.source, share.status)
