"""The targets that a child's lunch is judged by: standard, age group and day resolved."""

from datetime import date
from functools import lru_cache

from service.domain.errors import BadInput, Faults, Place, at
from service.domain.lunch.age_groups import AgeGroup
from service.domain.lunch.compiling import check_date, compile_targets, without_avoided
from service.domain.lunch.standards import Standard, TargetTable
from service.domain.messages import message
from service.jobs.allergens.avoidances import allergens_avoided
from service.jobs.requests.people import Child
from service.reference.lunch.standards import standard
from service.reference.weeks.frequencies import FrequencyStandard, frequency_paths


def standard_for_lunch(standard_id: str) -> Standard:
    """The standard of that id.

    Raises ``UnknownName``, or ``BadInput`` for one that counts portions over a week and cannot judge a lunch.
    """
    if standard_id in frequency_paths():
        raise BadInput(
            field="standard",
            value=standard_id,
            problem=message("fault.judges-weeks-only"),
        )
    return standard(standard_id)


def target_table(
    standard_id: str,
    child: Child,
    on: date,
    *,
    standard_at: Place = (),
    child_at: Place = ("child",),
    on_at: Place = ("on",),
) -> TargetTable:
    """The compiled targets for a child on a day; the age group named, or the one its age falls in.

    ``standard_at``, ``child_at``, ``on_at``: where the field ``standard``, the child and the day are in the request.
    """
    with at(*standard_at):  # without a standard nothing can be said of the age or the day
        known = standard_for_lunch(standard_id)
    faults = Faults()
    with faults.at(*child_at):
        group = age_group_of(known, child)
    with faults.at(*on_at):
        check_date(known, on)
    faults.raise_all()
    with at(*on_at):
        return _compiled(standard_id, group.id, on, allergens_avoided(child))


@lru_cache(maxsize=256)
def _compiled(standard_id: str, group_id: str, on: date, avoided: frozenset[str]) -> TargetTable:
    known = standard(standard_id)
    if avoided:
        return without_avoided(_compiled(standard_id, group_id, on, frozenset()), avoided)
    return compile_targets(known, known.group(group_id), on)


def age_group_of(known: Standard | FrequencyStandard, child: Child) -> AgeGroup:
    """The age group of a child in a standard; faults have their place within the child."""
    if child.age_group is not None:
        return known.group(child.age_group)
    months = child.months()
    if months is None:
        raise BadInput(
            value="no age",
            problem=message("fault.no-age", groups=[group.id for group in known.age_groups]),
        )
    with at("age_years" if child.age_months is None else "age_months"):
        return known.group_of_age(months)


def age_in_months(child: Child, group: AgeGroup) -> int:
    """The child's age; the youngest of its age group where only that is given."""
    months = child.months()
    return group.from_age_months if months is None else months
