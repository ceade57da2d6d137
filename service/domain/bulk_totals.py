"""Sums over the items of many lunches at once: ``amounts.add_up`` for a whole table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from service.domain.amounts import Totals
from service.domain.bulk_items import ItemArrays
from service.domain.measures import MEASURE_COUNT, NUTRIENT_COUNT

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from service.domain.bulk_items import Bits, Place, Whole

BLOCK = 4096
"""Lunches summed at a time, so that their totals stay in the processor's cache."""
MOSTLY = 0.2
"""Share of a block's lunches that must have a k-th item for all of them to be treated as if they had one."""
NARROW = 2**31
"""Sums below it fit in half the width, which is read and added twice as fast."""


@dataclass(frozen=True, slots=True, eq=False)
class ManyTotals:
    """Totals of ``n`` lunches, whole thousandths.

    ``nominal``: (measures, n). ``widened``, ``endless``: (n,) bits of the measures that are an interval, and of
    those without an upper end. ``place``: (n,) column of a lunch in ``below``/``above``, -1 for none;
    those: (nutrients, k) how far the ends of an interval lie from the nominal value.
    """

    nominal: Whole
    widened: Bits
    endless: Bits
    place: Place
    below: Whole
    above: Whole

    def __len__(self) -> int:
        return len(self.widened)

    def of(self, chosen: Place) -> ManyTotals:
        """The totals of some of the lunches."""
        place = self.place[chosen]
        return ManyTotals(
            self.nominal[:, chosen], self.widened[chosen], self.endless[chosen], place, self.below, self.above
        )

    def least(self, measure: int, chosen: Place | None = None) -> Whole:
        """The least each total (of the chosen lunches) can be."""
        return self._end(measure, self.below, chosen)

    def most(self, measure: int, chosen: Place | None = None) -> Whole:
        """The most each total can be; means nothing where ``is_endless``."""
        return self._end(measure, self.above, chosen)

    def _end(self, measure: int, ends: Whole, chosen: Place | None) -> Whole:
        import numpy as np

        nominal: Whole = self.nominal[measure] if chosen is None else self.nominal[measure, chosen]
        if measure >= NUTRIENT_COUNT or not ends.shape[1]:
            return nominal
        place = self.place if chosen is None else self.place[chosen]
        return nominal + np.where(place >= 0, ends[measure, place], 0)

    def is_endless(self, measure: int, chosen: Place | None = None) -> npt.NDArray[np.bool_]:
        """Whether each total has no upper end."""
        import numpy as np

        endless = self.endless if chosen is None else self.endless[chosen]
        return (endless & np.uint64(1 << measure)) != 0

    def is_widened(self, measures: int) -> npt.NDArray[np.bool_]:
        """Whether any of the measures (as bits) is an interval."""
        import numpy as np

        return (self.widened & np.uint64(measures)) != 0

    def single(self, lunch: int) -> Totals:
        """The totals of one lunch as the single check has them."""
        import numpy as np

        here = self.of(np.array([lunch]))
        measures = [measure for measure in range(MEASURE_COUNT) if int(here.widened[0]) >> measure & 1]
        return Totals(
            here.nominal[:, 0].tolist(),
            {measure: int(here.least(measure)[0]) for measure in measures},
            {measure: None if here.is_endless(measure)[0] else int(here.most(measure)[0]) for measure in measures},
        )


def add_up_many(items: ItemArrays, item: Place, starts: Place) -> ManyTotals:
    """Sum the items of each lunch.

    Parameters
    ----------
    item: (rows,) which of the items each row is, rows of one lunch side by side.
    starts: (n,) the first row of each lunch, rising from 0; no lunch is empty.
    """
    import numpy as np

    rows = len(item)
    if not len(starts):
        none = np.zeros((MEASURE_COUNT, 0), np.int64)
        bits = np.zeros(0, np.uint64)
        ends = none[:NUTRIENT_COUNT]
        return ManyTotals(none, bits, bits, np.zeros(0, np.intp), ends, ends)
    counts = np.diff(starts, append=rows)
    with_nothing = np.concatenate([items.nominal, np.zeros((1, MEASURE_COUNT), np.int64)])
    if int(items.nominal.max(initial=0)) * int(counts.max()) < NARROW:
        with_nothing = with_nothing.astype(np.int32)
    sums = np.empty((MEASURE_COUNT, len(starts)), np.int64)
    for first in range(0, len(starts), BLOCK):
        block = slice(first, first + BLOCK)
        sums[:, block] = _sum_block(with_nothing, item, starts[block], counts[block]).T
    widened = np.bitwise_or.reduceat(items.widened[item], starts)
    endless = np.bitwise_or.reduceat(items.endless[item], starts)
    place, below, above = _ends(items, item, starts)
    return ManyTotals(sums, widened, endless, place, below, above)


def _sum_block(nominal: npt.NDArray[Any], item: Place, starts: Place, counts: Whole) -> npt.NDArray[Any]:
    """Sum the first items of all lunches of a block, then the second ones, and so on; the last row is nothing."""
    import numpy as np

    nothing = len(nominal) - 1
    sums = np.take(nominal, item[starts], axis=0)
    buffer = np.empty_like(sums)
    for k in range(1, int(counts.max())):
        has = counts > k
        if has.mean() > MOSTLY:
            which = np.where(has, item[np.minimum(starts + k, len(item) - 1)], nothing)
            np.take(nominal, which, axis=0, out=buffer, mode="clip")
            sums += buffer
        else:
            some = np.flatnonzero(has)
            sums[some] += nominal[item[starts[some] + k]]
    return sums


def _ends(items: ItemArrays, item: Place, starts: Place) -> tuple[Place, Whole, Whole]:
    """Sum how far the ends of intervals lie from the nominal values, for the lunches that have any."""
    import numpy as np

    place = np.full(len(starts), -1, np.intp)
    spread = np.full(len(items.nominal), -1, np.intp)
    spread[items.spread_at] = np.arange(len(items.spread_at))
    at = spread[item]
    rows = np.flatnonzero(at >= 0)
    if not len(rows):
        none = np.zeros((NUTRIENT_COUNT, 0), np.int64)
        return place, none, none
    lunch = np.searchsorted(starts, rows, side="right") - 1
    first = np.flatnonzero(np.diff(lunch, prepend=-1))
    place[lunch[first]] = np.arange(len(first))
    below = np.add.reduceat(items.below[at[rows]], first, axis=0)
    above = np.add.reduceat(items.above[at[rows]], first, axis=0)
    return place, np.ascontiguousarray(below.T), np.ascontiguousarray(above.T)
