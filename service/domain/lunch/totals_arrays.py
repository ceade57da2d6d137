"""The totals of many lunches as arrays: what is known of each, and between what ends it lies."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from service.domain.foods.amounts import ItemVector
from service.domain.measures import MEASURE_COUNT

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Whole = npt.NDArray[np.int64]
    Place = npt.NDArray[np.intp]
    Flags = npt.NDArray[np.bool_]


class LunchTotals(Protocol):
    """The totals of ``n`` lunches, measure by measure: arrays (n,) of whole parts (``SCALE``)."""

    def __len__(self) -> int:
        """How many lunches."""

    def known(self, measure: int) -> Whole:
        """The nominal amounts: what is not known counts as 0."""

    def least(self, measure: int) -> Whole:
        """The least each total can be."""

    def most(self, measure: int) -> Whole:
        """The most each total can be; means nothing where ``is_unbounded``."""

    def is_unbounded(self, measure: int) -> Flags:
        """Whether each total has no upper end."""

    def is_interval(self, measures: frozenset[int]) -> Flags:
        """Whether any of the measures is known only as an interval."""

    def subset(self, chosen: Place) -> LunchTotals:
        """The totals of some of the lunches."""


@dataclass(frozen=True, slots=True, eq=False)
class Bounds:
    """`LunchTotals` as plain arrays, shape (n, MEASURE_COUNT), which can be added and subtracted."""

    low: Whole
    high: Whole
    unbounded: Whole
    """How many items have no upper end for the measure."""
    nominal: Whole

    def __len__(self) -> int:
        """How many lunches."""
        return len(self.nominal)

    def known(self, measure: int) -> Whole:
        """The nominal amounts."""
        return self.nominal[:, measure]

    def least(self, measure: int) -> Whole:
        """The least each total can be."""
        return self.low[:, measure]

    def most(self, measure: int) -> Whole:
        """The most each total can be; means nothing where ``is_unbounded``."""
        return self.high[:, measure]

    def is_unbounded(self, measure: int) -> Flags:
        """Whether each total has no upper end."""
        return self.unbounded[:, measure] > 0

    def is_interval(self, measures: frozenset[int]) -> Flags:
        """Whether any of the measures is known only as an interval."""
        some = sorted(measures)
        ends_differ = self.low[:, some] != self.high[:, some]
        found: Flags = (ends_differ | (self.unbounded[:, some] > 0)).any(axis=1)
        return found

    def subset(self, chosen: Place) -> Bounds:
        """Those of some of the lunches."""
        return Bounds(self.low[chosen], self.high[chosen], self.unbounded[chosen], self.nominal[chosen])


def bounds_of(vectors: Sequence[ItemVector]) -> Bounds:
    """The vectors as arrays, one row each.

    Arrays (n, MEASURE_COUNT) of whole parts (``SCALE``).
    """
    import numpy as np

    nominal = np.array([vector.nominal for vector in vectors], dtype=np.int64).reshape(len(vectors), MEASURE_COUNT)
    low, high = nominal.copy(), nominal.copy()
    unbounded = np.zeros_like(nominal)
    for row, vector in enumerate(vectors):
        for measure, least, most in vector.interval_entries:
            low[row, measure] = least
            if most is None:
                unbounded[row, measure] = 1
            else:
                high[row, measure] = most
    return Bounds(low, high, unbounded, nominal)
