"""How amounts are rounded on a label, and daily values, from reference_data/labels."""

from decimal import Decimal
from functools import lru_cache
from typing import Literal

from pydantic import Field

from service.domain.foods.label_figures import RoundingBand, RoundingRule
from service.reference.files import FileModel, Noted, Sourced, data_path, read_toml


class BandRow(FileModel):
    """From which amount on which step is used."""

    from_: Decimal = Field(alias="from", ge=0)
    step: Decimal = Field(gt=0)


class LabelRoundingRow(Noted):
    """One rounding rule for some measures."""

    measures: list[str]
    zero_below: Decimal
    bands: list[BandRow]


class PercentBandRow(Sourced):
    """One step of the percentages of daily value."""

    kind: Literal["drv", "rdi"]
    from_: Decimal = Field(alias="from", ge=0)
    step: Decimal = Field(gt=0)


class DailyValueRow(Sourced):
    """One daily value, by age."""

    measure: str
    kind: Literal["drv", "rdi"]
    four_years_and_over: Decimal
    one_to_three_years: Decimal


class LabelFile(FileModel):
    """The labelling figures of one jurisdiction."""

    id: str
    title: str
    source: str
    rounding: list[LabelRoundingRow]
    percent_band: list[PercentBandRow]
    daily_value: list[DailyValueRow]


@lru_cache(maxsize=1)
def label_file() -> LabelFile:
    """The US labelling figures."""
    return read_toml(data_path("labels/us-nutrition-facts.toml"), LabelFile)


@lru_cache(maxsize=1)
def rounding_rules() -> dict[str, RoundingRule]:
    """Rounding rule by measure."""
    return {
        measure: RoundingRule(
            measure,
            row.zero_below,
            tuple(RoundingBand(band.from_, band.step) for band in row.bands),
            row.source,
            row.status,
        )
        for row in label_file().rounding
        for measure in row.measures
    }
