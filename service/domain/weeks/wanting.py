"""Which days of a week lack what a food brings, so that it is added there and not on the first free day."""

from collections.abc import Sequence
from typing import NamedTuple

from service.domain.foods.amounts import ItemVector, add_up
from service.domain.lunch.findings import judge
from service.domain.lunch.standards import Target, TargetTable
from service.domain.weeks.week import CountedDay


class DayWanting(NamedTuple):
    """What one day lacks: (target, the lacking share of its minimum from 0 to 1, whether each day must meet it)."""

    lacks: tuple[tuple[Target, float, bool], ...]

    def order(self, comes: ItemVector) -> tuple[int, float]:
        """Sorts the days: first where most daily rules want what comes, then where most of the minimum is lacking."""
        helped = [one for one in self.lacks if _worth(one[0], comes) > 0]
        return -sum(firm for _target, _share, firm in helped), -sum(share for _target, share, _firm in helped)


def wanting_of(table: TargetTable, days: Sequence[CountedDay], usual_days: int) -> list[DayWanting]:
    """What each day lacks of the minima of a day, of the mean, and of an even part of the week's total.

    ``usual_days``: of the week that the totals are printed for, 1 or more. Source: ours.
    """
    found = []
    for day in days:
        total = add_up([day.vector])
        lacks: list[tuple[Target, float, bool]] = []
        for target in table.targets:
            if target.low:
                share = 1 - _worth(target, day.vector) / target.low
                if target.firm and judge(target, total).status == "short":
                    lacks.append((target, max(share, 0.0), True))
                elif share > 0:
                    lacks.append((target, share, False))
        for target in table.week_targets:
            if target.low:
                share = 1 - _worth(target, day.vector) * usual_days / target.low
                if share > 0:
                    lacks.append((target, share, False))
        found.append(DayWanting(tuple(lacks)))
    return found


def _worth(target: Target, vector: ItemVector) -> int:
    return sum(weight * vector.nominal[measure] for measure, weight in target.terms)
