"""Yardsticks: general advice that a lunch or a week is shown beside, without any say in the answer."""

from collections.abc import Sequence
from typing import Generic, NamedTuple, TypeVar

from service.domain.foods.amounts import Totals
from service.domain.lunch.findings import Judgement, Status, judge
from service.domain.lunch.standards import Standard, TargetTable
from service.domain.messages import Message, message

Found = TypeVar("Found")


class Yardstick(NamedTuple):
    """A yardstick and its rows for a child on a day; None where it has none for that age or day."""

    standard: Standard
    table: TargetTable | None


class BesideYardstick(NamedTuple, Generic[Found]):
    """What was found by the rows of a yardstick; nothing where it has none."""

    yardstick: Yardstick
    findings: list[Found]


def lunch_beside(yardsticks: Sequence[Yardstick], totals: Totals) -> list[BesideYardstick[Judgement]]:
    """One lunch beside each yardstick.

    ``totals``: of the lunch, in whole parts (``SCALE``). Source: beside each row.
    """
    return [
        BesideYardstick(one, [] if one.table is None else [judge(target, totals) for target in one.table.targets])
        for one in yardsticks
    ]


def lunches_message(yardstick: Yardstick, total: int, kept: int, unknown: int) -> Message:
    """Say how many of an offer's lunches keep all rows of a yardstick; or that it has none for the child's age or the day."""
    title = yardstick.standard.title
    if yardstick.table is None:
        return message("yardstick.no-rows", title=title)
    if not total:
        return message("yardstick.no-lunches", title=title)
    if unknown:
        return message("yardstick.lunches-unknown", title=title, kept=kept, total=total, unknown=unknown)
    return message("yardstick.lunches", title=title, kept=kept, total=total)


def yardstick_message(yardstick: Yardstick, statuses: Sequence[Status]) -> Message:
    """Say how many rows of a yardstick are kept, of how many; or that it has none for the child's age or the day."""
    title = yardstick.standard.title
    if yardstick.table is None:
        return message("yardstick.no-rows", title=title)
    kept, unknown = statuses.count("met"), statuses.count("unknown")
    if unknown:
        return message("yardstick.kept-unknown", title=title, kept=kept, rows=len(statuses), unknown=unknown)
    return message("yardstick.kept", title=title, kept=kept, rows=len(statuses))
