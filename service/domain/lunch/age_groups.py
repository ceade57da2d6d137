"""The age groups of a standard, and which of them a child is in."""

from collections.abc import Sequence
from typing import NamedTuple

from service.domain.errors import OutsideAgeGroups, UnknownName
from service.domain.messages import message


class AgeGroup(NamedTuple):
    """An age group of a standard, half-open in months."""

    id: str
    title: str
    from_age_months: int
    below_age_months: int
    source: str
    status: str


def group_named(groups: Sequence[AgeGroup], group_id: str, standard_id: str) -> AgeGroup:
    """The age group of that id; ``UnknownName`` with the ids of the standard otherwise."""
    for group in groups:
        if group.id == group_id:
            return group
    known = [group.id for group in groups]
    raise UnknownName(
        field="age_group",
        value=group_id,
        kind=message("kind.age-group-of", standard=standard_id),
        known=message("help.it-knows", names=known),
    )


def group_of_age(groups: Sequence[AgeGroup], age_months: int, standard_id: str) -> AgeGroup:
    """The age group that covers an age in months; ``OutsideAgeGroups`` otherwise.

    ``age_months``: whole months. Source of the ages: the standard's file.
    """
    for group in groups:
        if group.from_age_months <= age_months < group.below_age_months:
            return group
    covered = [
        message("help.age-group", group=group.id, first=group.from_age_months, last=group.below_age_months - 1)
        for group in groups
    ]
    raise OutsideAgeGroups(
        value=f"{age_months} months",
        problem=message("fault.outside-age-groups", standard=standard_id, covered=covered),
    )
