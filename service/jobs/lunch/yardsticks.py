"""The yardsticks that a request names: looked up for a child on a day, and said."""

from collections.abc import Sequence
from contextlib import suppress
from datetime import date
from functools import lru_cache
from typing import Any

from service.domain.errors import Faults, OutsideAgeGroups, OutsideDates
from service.domain.lunch.age_groups import AgeGroup
from service.domain.lunch.compiling import compile_targets
from service.domain.lunch.findings import Status
from service.domain.lunch.standards import TargetTable
from service.domain.lunch.yardsticks import Yardstick, yardstick_message
from service.reference.lunch.standards import yardstick
from service.reference.messages import worded


def yardsticks_for(ids: Sequence[str], age_months: int, on: date) -> tuple[Yardstick, ...]:
    """Each yardstick once, in the order named, with its rows for a child of that age on a day.

    Raises ``UnknownName`` for an id that is none (``ManyFaults`` for several), at its place in ``ids``.
    """
    found: dict[str, Yardstick] = {}
    faults = Faults()
    for place, one in enumerate(ids):
        with faults.at(place):
            known = yardstick(one)
            table: TargetTable | None = None
            with suppress(OutsideAgeGroups, OutsideDates):
                table = _compiled(known, known.group_of_age(age_months), on)
            found[one] = Yardstick(known, table)
    faults.raise_all()
    return tuple(found.values())


_compiled = lru_cache(maxsize=256)(compile_targets)
"""Remembered, so that children of one age share what is worked out by it."""


def check_yardsticks(ids: Sequence[str]) -> None:
    """Raises ``UnknownName`` for an id that is no yardstick (``ManyFaults`` for several), at its place in ``ids``."""
    faults = Faults()
    for place, one in enumerate(ids):
        with faults.at(place):
            yardstick(one)
    faults.raise_all()


def yardstick_row(one: Yardstick, statuses: Sequence[Status], findings: list[dict[str, Any]]) -> dict[str, Any]:
    """One yardstick with what was found. ``findings``: its rows, as a standard's are said."""
    return {**yardstick_head(one), **worded(yardstick_message(one, statuses)), "findings": findings}


def yardstick_head(one: Yardstick) -> dict[str, Any]:
    """What a yardstick is, and the age group whose rows are used."""
    known = one.standard
    group: AgeGroup | None = None if one.table is None else one.table.age_group
    return {
        "id": known.id,
        "title": known.title,
        "citation": known.citation,
        "about": known.about,
        "age_group": None if group is None else group.id,
        "age_group_title": None if group is None else group.title,
    }
