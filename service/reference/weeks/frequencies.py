"""Standards of frequencies and portions from their files, each read once when asked for."""

from datetime import date
from functools import lru_cache
from typing import NamedTuple

from service.domain.errors import LunchError, OutsideDates, ReferenceFault, raise_all
from service.domain.lunch.age_groups import AgeGroup, group_named, group_of_age
from service.domain.messages import message
from service.domain.weeks.frequency import FrequencyRow
from service.reference.files import data_path, paths_by_id, read_toml
from service.reference.lunch.standards import check_known_standard, standard_paths
from service.reference.weeks.models import FrequencyFile


class FrequencyStandard(NamedTuple):
    """A dated, cited standard that counts portions and kinds; ``single_lunches``: id of the one for a lunch by itself.

    ``for_lunch_boxes``: advice for lunches from home, not rules for the food of schools.
    """

    id: str
    jurisdiction: str
    title: str
    citation: str
    about: str
    complete: str
    missing: tuple[str, ...]
    historical: bool
    checked_until: date | None
    age_groups: tuple[AgeGroup, ...]
    rows: tuple[FrequencyRow, ...]
    single_lunches: str
    for_lunch_boxes: bool

    @property
    def first_day(self) -> date:
        """The first day a row applies."""
        return min(row.from_day for row in self.rows)

    @property
    def last_day(self) -> date | None:
        """The last day a row applies; None: no end known."""
        ends = [row.until_day for row in self.rows]
        return None if None in ends else max(end for end in ends if end is not None)

    def group(self, group_id: str) -> AgeGroup:
        """The age group of that id, or ``UnknownName``."""
        return group_named(self.age_groups, group_id, self.id)

    def group_of_age(self, age_months: int) -> AgeGroup:
        """The age group that covers an age in months, or ``OutsideAgeGroups``."""
        return group_of_age(self.age_groups, age_months, self.id)

    def in_force(self, group: AgeGroup, on: date) -> tuple[FrequencyRow, ...]:
        """The rows for an age group on a day; ``OutsideDates`` where there are none."""
        rows = tuple(
            row
            for row in self.rows
            if group.id in row.age_groups and row.from_day <= on and (row.until_day is None or on <= row.until_day)
        )
        if not rows:
            raise OutsideDates(
                value=on.isoformat(),
                problem=message(
                    "fault.outside-dates",
                    standard=self.id,
                    days=message("help.days-without-end", first=self.first_day.isoformat()),
                ),
            )
        return rows


@lru_cache(maxsize=1)
def frequency_paths() -> dict[str, str]:
    """Id -> path under reference_data of each standard of frequencies, in alphabetical order."""
    return paths_by_id("frequencies")


def check_week_standard(standard_id: str) -> None:
    """Raise ``UnknownName`` for an id that is no standard of targets or frequencies; those of both are named."""
    check_known_standard(standard_id, sorted({*standard_paths(), *frequency_paths()}))


@lru_cache(maxsize=8)
def frequency_standard(standard_id: str) -> FrequencyStandard:
    """The standard of that id; its groups are checked against the school food groups."""
    from service.reference.weeks.school_food_groups import group_labels

    file = read_toml(data_path(frequency_paths()[standard_id]), FrequencyFile)
    where = f"{standard_id}.toml"
    faults: list[LunchError] = []

    def fault(place: str, value: object, problem: str, remedy: str) -> None:
        faults.append(ReferenceFault(pointer=f"{where}#/{place}", value=value, problem=problem, remedy=remedy))

    if file.id != standard_id:
        fault("id", file.id, "is not the file's name", f"Write id = {standard_id!r}, or rename the file.")
    if file.single_lunches not in standard_paths():
        fault("single_lunches", file.single_lunches, "is not a standard of targets", "Give the id of one.")
    groups = {row.id for row in file.age_group}
    seen: set[tuple[str, str, date]] = set()
    for place, row in enumerate(file.frequency):
        for counted in [row.counts] * bool(row.counts) + row.accompanied_by:
            if counted not in group_labels():
                fault(
                    f"frequency/{place}",
                    counted,
                    "is not a school food group",
                    "Give one of " + ", ".join(group_labels()),
                )
        for group in row.age_groups:
            if group not in groups:
                fault(f"frequency/{place}/age_groups", group, "is not an age group of this file", "Correct its name.")
            if (row.id, group, row.from_) in seen:
                fault(f"frequency/{place}/id", row.id, f"appears twice for {group}", "Keep one of the two rows.")
            seen.add((row.id, group, row.from_))
    raise_all(faults)
    return FrequencyStandard(
        file.id,
        file.jurisdiction,
        file.title,
        file.citation,
        file.about,
        file.complete,
        tuple(file.missing),
        file.historical,
        file.checked_until,
        file.age_groups(),
        tuple(
            FrequencyRow(
                row.id,
                row.label,
                row.counts,
                row.unit,
                row.period,
                row.at_least,
                row.at_most,
                row.whole_day,
                row.kitchen_only,
                tuple(row.accompanied_by),
                row.for_whom,
                frozenset(row.age_groups),
                row.from_,
                row.until,
                row.source,
                row.status,
            )
            for row in file.frequency
        ),
        file.single_lunches,
        file.for_lunch_boxes,
    )
