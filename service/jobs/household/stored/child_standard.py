"""By which standard a stored child's lunches are checked: its own, or the one for single lunches beside it.

England's school food standards count portions over a week; a lunch by itself, and an offer, go by another standard then.
"""

from datetime import date, timedelta

from service.domain.errors import BadInput, LunchError, OutsideAgeGroups, Place, at
from service.domain.lunch.standards import Standard
from service.domain.messages import message
from service.jobs.household.requests import KeptChild
from service.jobs.lunch.targets import age_group_of, age_in_months, standard_for_lunch
from service.jobs.lunch.yardsticks import check_yardsticks
from service.jobs.requests.people import Child
from service.reference.lunch.standards import standard
from service.reference.weeks.frequencies import (
    FrequencyStandard,
    check_week_standard,
    frequency_paths,
    frequency_standard,
)


def check_standards(child: KeptChild) -> None:
    """Raises ``LunchError`` for a standard, an age group or a yardstick that is not known."""
    check_week_standard(child.standard)
    if child.standard not in frequency_paths():
        known = standard_for_lunch(child.standard)
        if child.age_group is not None:
            known.group(child.age_group)
    elif child.age_group is not None:
        frequency_standard(child.standard).group(child.age_group)
    if child.lunch_standard is not None:
        with at("lunch_standard"):
            standard_for_lunch(child.lunch_standard)
    with at("yardsticks"):
        check_yardsticks(child.yardsticks)


def for_one_lunch(child: KeptChild, on: date, pointer: Place = ()) -> tuple[str, Child]:
    """The standard for a single lunch of a child on a day, and the child as it takes it.

    Raises ``OutsideAgeGroups`` at ``pointer`` for a day on which the child is too old, or not born; ``BadInput`` where the
    standard for single lunches has no age group for it.
    """
    with at(*pointer):
        whole = child.child_on(on)
    if child.standard not in frequency_paths():
        return child.standard, whole
    over_week = frequency_standard(child.standard)
    used = child.lunch_standard or over_week.single_lunches
    with at(*pointer):
        months = age_in_months(whole, age_group_of(over_week, whole))
        alone = whole.model_copy(update={"age_group": None, "age_months": months})
        try:
            age_group_of(standard_for_lunch(used), alone)
        except OutsideAgeGroups as fault:
            raise BadInput(
                value=child.standard,
                problem=message("fault.no-lunch-standard", used=used),
            ) from fault
    return used, alone


def for_week(child: KeptChild, standard_id: str, monday: date) -> Child:
    """A child as a week takes it: as it is on the Monday.

    Where the standard covers its age only from a later day of the week on, it is in the age group of that day, so that
    the lunches of that day and after can be summed up.
    """
    whole = child.child_on(monday)
    if age_group_on(child, standard_id, monday) is not None:
        return whole
    later = (age_group_on(child, standard_id, monday + timedelta(days=day)) for day in range(1, 7))
    group = next((one for one in later if one is not None), None)
    return whole if group is None else whole.model_copy(update={"age_group": group})


def age_group_on(child: KeptChild, standard_id: str, on: date) -> str | None:
    """The id of the age group of a child on a day in a standard; None where that has none for the age."""
    try:
        return age_group_of(week_standard(standard_id), child.child_on(on)).id
    except LunchError:
        return None


def week_standard(standard_id: str) -> Standard | FrequencyStandard:
    """The standard of that id, of targets or of frequencies."""
    return frequency_standard(standard_id) if standard_id in frequency_paths() else standard(standard_id)
