"""How the totals of a week go with the number of school days, and a day's references for the micronutrients."""

from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from service.domain.errors import ReferenceFault, raise_all
from service.domain.lunch.standards import LimitRow, Target
from service.domain.measures import MEASURE_INDEX, MEASURES, SCALE
from service.domain.weeks.week import FIVE_DAYS, DaysRow, WeekLengths
from service.reference.files import data_path, read_toml
from service.reference.weeks.models import DayReferenceFile, WeekLengthFile

SHORTFALL_PERCENT = 50.0
"""How far below a third of the day satisfaction is nil (ours); only for ranking."""


@lru_cache(maxsize=16)
def week_lengths(standard_id: str) -> WeekLengths:
    """The lengths of weeks that a standard's file speaks of; by the day where there is no such file."""
    path = data_path(f"weeks/{standard_id}.toml")
    if not path.exists():
        return FIVE_DAYS
    file = read_toml(path, WeekLengthFile)
    if file.standard != standard_id:
        raise ReferenceFault(
            pointer=f"weeks/{standard_id}.toml#/standard",
            value=file.standard,
            problem="is not the file's name",
            remedy=f"Write standard = {standard_id!r}, or rename the file.",
        )
    printed = {
        (target, group, row.days): DaysRow(
            None if row.at_least is None else Fraction(row.at_least),
            None if row.at_most is None else Fraction(row.at_most),
            row.source,
            row.status,
        )
        for row in file.printed
        for target in row.targets
        for group in row.age_groups
    }
    return WeekLengths(
        file.usual_days,
        printed,
        frozenset(file.unscaled.targets),
        file.unscaled.source,
        file.unscaled.status,
        file.proportional.source,
        file.proportional.status,
        {(row.target, row.age_group, row.days): float(row.at_most) for row in file.guide},
    )


class DayReference(NamedTuple):
    """A share of a day's reference as a target of a week's mean; ``greater_of_two``: nobody said girl or boy."""

    target: Target
    kind: str
    day_amount: float
    greater_of_two: bool


@lru_cache(maxsize=1)
def _reference_file() -> DayReferenceFile:
    file = read_toml(data_path("intakes/day_references.toml"), DayReferenceFile)
    raise_all(
        [
            ReferenceFault(
                pointer=f"day_references.toml#/reference/{place}/measure",
                value=row.measure,
                problem="is not a measure",
                remedy="Give one of the ids in service/domain/measures.py.",
            )
            for place, row in enumerate(file.reference)
            if row.measure not in MEASURE_INDEX
        ]
    )
    return file


@lru_cache(maxsize=256)
def day_references(jurisdiction: str, age_months: int, sex: str | None) -> Sequence[DayReference]:
    """The share of a day's references for a child, as rows of a week's mean; none for other jurisdictions."""
    file = _reference_file()
    found: dict[str, DayReference] = {}
    for row in file.reference:
        if row.jurisdiction != jurisdiction or not row.from_age_months <= age_months < row.below_age_months:
            continue
        if row.sex and sex is not None and row.sex != sex:
            continue
        earlier = found.get(row.measure)
        if earlier is not None and earlier.day_amount >= row.amount:
            continue
        index = MEASURE_INDEX[row.measure]
        share = Fraction(file.share.numerator, file.share.denominator)
        terms = ((index, file.share.denominator),)
        low = int(Fraction(row.amount) * SCALE * file.share.numerator)
        target = Target(
            id="third-" + row.measure.replace("_", "-"),
            label=MEASURES[index].label,
            kind="measure",
            terms=terms,
            measures=frozenset({index}),
            shown_terms=((index, 1.0),),
            low=low,
            high=None,
            above=False,
            below=False,
            lowest=low,
            highest=None,
            per_unit=file.share.denominator * SCALE,
            limit=LimitRow(terms, low, None),
            at_least=float(Fraction(row.amount) * share),
            at_most=None,
            unit=MEASURES[index].unit,
            basis="week_mean",
            weight=1.0,
            distance_percent=SHORTFALL_PERCENT,
            source=row.source,
            status=row.status,
            note=f"{file.share.numerator}/{file.share.denominator} of the day's {row.kind}",
        )
        found[row.measure] = DayReference(target, row.kind, float(row.amount), bool(row.sex) and sex is None)
    return tuple(found.values())
