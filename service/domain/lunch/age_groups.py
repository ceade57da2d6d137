"""The age groups of a standard, and which of them a child is in."""

from collections.abc import Sequence
from typing import NamedTuple

from service.domain.errors import OutsideAgeGroups, UnknownName


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
    known = ", ".join(group.id for group in groups)
    raise UnknownName(
        field="age_group", value=group_id, kind="age group of " + standard_id, known=f"It knows: {known}."
    )


def group_of_age(groups: Sequence[AgeGroup], age_months: int, standard_id: str) -> AgeGroup:
    """The age group that covers an age in months; ``OutsideAgeGroups`` otherwise.

    ``age_months``: whole months. Source of the ages: the standard's file.
    """
    for group in groups:
        if group.from_age_months <= age_months < group.below_age_months:
            return group
    covered = "; ".join(
        f"{group.id}: {group.from_age_months} to {group.below_age_months - 1} months" for group in groups
    )
    raise OutsideAgeGroups(
        value=f"{age_months} months",
        problem=f"is an age that no age group of {standard_id} covers",
        remedy=f"It covers {covered}. Choose another standard, or name the age_group to use.",
    )
