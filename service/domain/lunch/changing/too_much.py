"""What a lunch or a week has far too much of, which foods bring it, and how much of it a change takes away.

Where a lunch has twice the salt that it may have, one food less salty does more good than a vegetable beside the others.
What counts as far and as much is our choice.
"""

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

from service.domain.foods.amounts import ItemVector
from service.domain.lunch.findings import Judgement
from service.domain.lunch.judging_arrays import ManyJudgements
from service.domain.lunch.standards import Target

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

FAR = 0.25
"""From so large a part of the most on, what is above it is far too much."""
CLEARLY = 0.25
"""A change that takes away so large a part of what is too much is said to do so."""
LARGE = 1 / 3
"""An item that brings so large a part of the most of a target is one of those at fault."""


def far_too_much(judged: Sequence[Judgement]) -> list[Target]:
    """The targets of which a lunch certainly has far more than the most.

    Only amounts with a most of their own: not shares of another amount.
    """
    return [one.target for one in judged if _is_far(one)]


def _is_far(one: Judgement) -> bool:
    most = one.target.at_most
    return (
        one.status == "over" and one.target.kind == "measure" and bool(most) and one.amount >= (1 + FAR) * (most or 0)
    )


def is_at_fault(vector: ItemVector, too_much: Collection[Target]) -> bool:
    """Whether an item brings a large part of the most of a target that the lunch has far too much of."""
    return any(amount_in(one, vector) >= LARGE * one.highest for one in too_much if one.highest)


def is_known(target: Target, vector: ItemVector) -> bool:
    """Whether there is a figure, if only a rounded one, for all that an item adds to the row of a target."""
    endless = {measure for measure, _low, high in vector.interval_entries if high is None}
    return not any(measure in endless for measure, _weight in target.terms)


def amount_in(target: Target, vector: ItemVector) -> int:
    """What an item adds to the row of a target, in the row's own parts."""
    return sum(weight * vector.nominal[measure] for measure, weight in target.terms)


def taken_away(before: Sequence[Judgement], many: Sequence[ManyJudgements]) -> "npt.NDArray[np.float64]":
    """Which part of what is far too much each change takes away, shape (targets of `far_too_much`, changes).

    1 for all of it, below 0 where a change adds to it. ``before``: each target on the lunch as it is; ``many``: the same targets after
    each change, and last as it is.
    """
    import numpy as np

    found = [
        _parts_of_excess(_at_worst(after), float(one.target.at_most or 0))
        for one, after in zip(before, many, strict=True)
        if _is_far(one)
    ]
    return np.array(found).reshape(len(found), len(many[0].status) - 1 if many else 0)


def _at_worst(after: ManyJudgements) -> "npt.NDArray[np.float64]":
    """The amounts after each change, the most that each can be: what has no figure takes nothing away.

    The plain amounts where the lunch as it is has such a food in it already.
    """
    import numpy as np

    amounts, _low, high = after.amounts()
    return high if np.isfinite(high[-1]) else amounts


def _parts_of_excess(amounts: "npt.NDArray[np.float64]", most: float) -> "npt.NDArray[np.float64]":
    """``amounts``: after each change, and last as it is, which is above the most."""
    import numpy as np

    found: npt.NDArray[np.float64] = np.clip((amounts[-1] - amounts[:-1]) / (amounts[-1] - most), -1.0, 1.0)
    return found
