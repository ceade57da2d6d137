"""How amounts are rounded on a label, and daily values, from reference_data/labels."""

from collections import Counter
from decimal import Decimal
from functools import lru_cache
from typing import Literal

from pydantic import Field

from service.domain.errors import ReferenceFault
from service.domain.foods.label_figures import RoundingBand, RoundingRule
from service.domain.measures import LABEL_MEASURES
from service.reference.files import DataStatus, FileModel, data_path, read_toml

WHERE = "labels/us-nutrition-facts.toml"


class BandRow(FileModel):
    """From which amount on which step is used."""

    from_: Decimal = Field(alias="from", ge=0)
    step: Decimal = Field(gt=0)


class LabelRoundingRow(FileModel):
    """One rounding rule for some measures."""

    measures: list[str]
    zero_below: Decimal
    bands: list[BandRow]
    source: str
    status: DataStatus
    note: str = ""


class AsPrintedRow(FileModel):
    """Measures that a label may give and no rounding rule speaks of: the figure is taken as it is printed."""

    measures: list[str]
    reason: str
    status: DataStatus


class PercentBandRow(FileModel):
    """One step of the percentages of daily value."""

    kind: Literal["drv", "rdi"]
    from_: Decimal = Field(alias="from", ge=0)
    step: Decimal = Field(gt=0)
    source: str
    status: DataStatus


class DailyValueRow(FileModel):
    """One daily value, by age."""

    measure: str
    kind: Literal["drv", "rdi"]
    four_years_and_over: Decimal
    one_to_three_years: Decimal
    source: str
    status: DataStatus


class LabelFile(FileModel):
    """The labelling figures of one jurisdiction."""

    id: str
    title: str
    source: str
    rounding: list[LabelRoundingRow]
    as_printed: list[AsPrintedRow]
    percent_band: list[PercentBandRow]
    daily_value: list[DailyValueRow]


@lru_cache(maxsize=1)
def label_file() -> LabelFile:
    """The US labelling figures.

    Raises ``ReferenceFault`` where a measure that a label may give is in none of its rows, or in two.
    """
    file = read_toml(data_path(WHERE), LabelFile)
    check_every_measure_once(file)
    return file


def check_every_measure_once(file: LabelFile) -> None:
    """Refuse a file that forgets a measure: its figures would be taken as exact without anybody deciding so."""
    named = Counter(measure for row in (*file.rounding, *file.as_printed) for measure in row.measures)
    wanted = {measure.id for measure in LABEL_MEASURES}
    for measure in sorted(wanted | set(named)):
        if measure not in wanted:
            problem, remedy = "is not a measure that a label may give", "See on_labels in service/domain/measures.py."
        elif measure not in named:
            problem = "has neither a rounding rule nor a row that says it is taken as printed"
            remedy = f"Name it in a [[rounding]] row, or in [[as_printed]] with the reason, in reference_data/{WHERE}."
        elif named[measure] > 1:
            problem, remedy = "is in two rows", "Name each measure once."
        else:
            continue
        raise ReferenceFault(pointer=f"reference_data/{WHERE}", value=measure, problem=problem, remedy=remedy)


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
