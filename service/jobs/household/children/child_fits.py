"""Whether a child can be looked at by the standard that it is given, before it is stored."""

from datetime import date

from service.jobs.household.requests import KeptChild
from service.jobs.household.stored.child_standard import check_standards, for_one_lunch
from service.jobs.lunch.targets import target_table


def see_child_fits(child: KeptChild, on: date) -> None:
    """Raises ``LunchError`` where the standard is not known, or has no age group for the child on a day.

    A standard that counts portions over a week is looked at with the one that judges single lunches beside it.
    """
    check_standards(child)
    used, checked = for_one_lunch(child, on)
    target_table(used, checked, on)
