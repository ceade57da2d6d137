"""Counts a small branch the plain way: every combination against every bound, a bit each.

The everyday offer has a few thousand combinations; setting anything cleverer up would cost more than this.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from service.domain.combinations_spans import Allowances, Whole, starts_of, sums

Bits = npt.NDArray[np.uint8]


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
    half, left = 0, 1
    while half < len(sizes) and left * left < total:
        left *= sizes[half]
        half += 1
    one = sums(bounds.used, sizes[:half], starts[:half])
    other = sums(bounds.used, sizes[half:], starts[half:])
    fits = other[:, None, :] <= (bounds.allowed[:, None] - one)[:, :, None]
    return Kept(np.packbits(fits.reshape(len(one), total), axis=1), sizes, total)


def by_option(bits: Bits, sizes: tuple[int, ...], total: int) -> list[int]:
    """How many of the combinations whose bit is set take each option of each list."""
    each: Whole | Bits = np.unpackbits(bits, count=total)
    found: list[int] = []
    after = total
    for size in sizes:
        after //= size
        grid = each.reshape(-1, size, after)
        found += grid.sum(axis=(0, 2), dtype=np.int64).tolist()
    return found
