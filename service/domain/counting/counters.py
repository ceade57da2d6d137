"""Counts how often each bit is set over many rows of words, without looking at bits one by one.

Bit-sliced counters: words at level n hold one binary digit, worth 2 ** n, of 64 counters each. Two blocks of rows are
added to a third with five operations a word (a carry-save adder); the carry goes up a level.
"""

import numpy as np

from service.domain.counting.leaf import WORD, Words
from service.domain.counting.spans import Whole

FEW_ROWS = 8
"""So many rows are counted bit by bit."""


class Counters:
    """Counts, for each bit of rows of words, how often it is set; rows are added in full blocks of ``rows``."""

    def __init__(self, words: int, rows: int) -> None:
        self.words = words
        self.rows = rows
        self.block: Words = np.zeros((rows, words), dtype=np.uint64)
        self.filled = 0
        self.sums: list[Words] = []
        self.waiting: list[Words | None] = []

    def add(self, rows: Words) -> None:
        """Add rows of masks."""
        while len(rows):
            room = self.rows - self.filled
            self.block[self.filled : self.filled + room][: len(rows)] = rows[:room]
            self.filled += min(room, len(rows))
            rows = rows[room:]
            if self.filled == self.rows:
                self._carry(self.block)
                self.block = np.empty_like(self.block)
                self.filled = 0

    def _carry(self, rows: Words) -> None:
        level = 0
        while True:
            if level == len(self.sums):
                self.sums.append(np.zeros_like(rows))
                self.waiting.append(None)
            other = self.waiting[level]
            if other is None:
                self.waiting[level] = rows
                return
            self.waiting[level] = None
            self.sums[level], rows = _add_three(self.sums[level], other, rows)
            level += 1

    def counts(self) -> Whole:
        """The counts, one a bit."""
        total = np.zeros(self.words * WORD, dtype=np.int64)
        total += column_counts(self.block[: self.filled])
        for level, (sums, waiting) in enumerate(zip(self.sums, self.waiting, strict=True)):
            total += column_counts(sums) << level
            if waiting is not None:
                total += column_counts(waiting) << level
        return total


def _add_three(one: Words, two: Words, three: Words) -> tuple[Words, Words]:
    """Sum and carry of three bits, for each bit."""
    either = one ^ two
    both = one & two
    total = either ^ three
    either &= three
    both |= either
    return total, both


def column_counts(rows: Words) -> Whole:
    """How often each bit is set over some rows: carry-save adders until few rows are left, then bit by bit."""
    words = rows.shape[1]
    total = np.zeros(words * WORD, dtype=np.int64)
    level = 0
    while len(rows):
        carried = []
        while len(rows) > FEW_ROWS:
            third = len(rows) // 3
            kept, carry = _add_three(rows[:third], rows[third : 2 * third], rows[2 * third : 3 * third])
            carried.append(carry)
            rows = np.concatenate([kept, rows[3 * third :]])
        bits = np.unpackbits(rows.astype("<u8").view(np.uint8), axis=1, bitorder="little")
        total += bits.sum(axis=0, dtype=np.int64) << level
        rows = np.concatenate(carried) if carried else rows[:0]
        level += 1
    return total
