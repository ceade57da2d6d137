"""Counts a small branch the plain way: every combination against every bound, a bit each.

The everyday offer has a few thousand combinations; setting anything cleverer up would cost more than this.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from service.domain.counting.spans import Allowances, front_half, starts_of, sums
from service.domain.counting.spans import by_option as combinations_by_option

Bits = npt.NDArray[np.uint8]
HALF_WIDTH = (1 << 31) - 1
"""Sums below this are compared in half as many bytes."""


@dataclass(frozen=True, slots=True, eq=False)
class Kept:
    """Which combinations keep which bound: one bit each, ``(bounds, bytes)``, the last list varying fastest."""

    bits: Bits
    sizes: tuple[int, ...]
    total: int

    def counts(self) -> list[int]:
        """How many combinations keep each bound."""
        return counted(self.bits)

    def all_of(self, rows: list[int]) -> Bits:
        """The combinations that keep all of these bounds."""
        if not rows:
            return np.packbits(np.ones(self.total, dtype=np.bool_))
        together: Bits = np.bitwise_and.reduce(self.bits[rows], axis=0)
        return together


def counted(bits: Bits) -> list[int]:
    """How many bits are set in each row."""
    numbers: list[int] = np.bitwise_count(bits).sum(axis=-1, dtype=np.int64).tolist()
    return numbers


def kept(bounds: Allowances, total: int) -> Kept:
    """Try every combination against every bound. Memory: one byte for each of both, for a moment."""
    sizes, starts = bounds.sizes, starts_of(bounds.sizes)
    half = front_half(sizes)
    one = sums(bounds.used, sizes[:half], starts[:half])
    other = sums(bounds.used, sizes[half:], starts[half:])
    remains = bounds.allowed[:, None] - one
    if other.size and int(other.max()) < HALF_WIDTH:
        other = other.astype(np.int32)
        remains = np.clip(remains, -1, HALF_WIDTH).astype(np.int32)
    fits = other[:, None, :] <= remains[:, :, None]
    return Kept(np.packbits(fits.reshape(len(one), total), axis=1), sizes, total)


def by_option(bits: Bits, sizes: tuple[int, ...], total: int) -> list[int]:
    """How many of the combinations whose bit is set take each option of each list."""
    counts: list[int] = combinations_by_option(np.unpackbits(bits, count=total)[None, :], sizes)[0].tolist()
    return counts
