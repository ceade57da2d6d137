"""The inner loops of the compiled counter, as machine code where numba is installed: imported only when they are used.

`walk` goes through the prefixes of a `Part` depth first, list by list. It keeps the bounds that can still fail in a
short list of open bounds: a prefix is dropped as soon as one has failed, and counted whole when none is left open. At the
leaf the options that fit are found by intersecting rows of bits. `pairs_at_most` counts pairs of sums.

Arrays are grouped in named tuples, which numba can take apart without Python. No module constant may be read in here but
through an argument: numba keeps the value of the first time in its cache.
"""

from collections.abc import Callable
from importlib import import_module
from importlib.util import find_spec
from typing import Any, NamedTuple, TypeVar

import numpy as np

Function = TypeVar("Function", bound=Callable[..., Any])


def machine_code(function: Function) -> Function:
    """Compile a function on its first call (some seconds in all), or read it from numba's cache.

    Without numba it stays as it is: slow, but the counts can be tested.
    """
    if find_spec("numba") is None:
        return function
    numba: Any = import_module("numba")
    try:
        made: Function = numba.njit(nogil=True, cache=True)(function)
    except RuntimeError:  # numba found no folder that it may write its cache to
        made = numba.njit(nogil=True)(function)
    return made


def inlined(function: Function) -> Function:
    """Compile a step into the function that calls it."""
    if find_spec("numba") is None:
        return function
    made: Function = import_module("numba").njit(nogil=True, inline="always")(function)
    return made


class Prefixes(NamedTuple):
    """The lists that are walked, as in a `Part`, and what their options use up."""

    sizes: Any
    """(depths,) options of each list."""
    starts: Any
    """(depths,) where each list begins among all options."""
    used: Any
    """(options, bounds): so that what one option uses lies side by side in memory."""
    allowed: Any
    """(bounds,)"""
    most_left: Any
    """(depths + 1, bounds) the most that the lists from a depth on, and the leaf, can use."""
    rest: Any
    """(depths + 1,) how many combinations these make."""


class LeafRows(NamedTuple):
    """The tables of the leaf, as in `Tables`; the masks are flat, ``words`` to a row."""

    sorted_used: Any
    order: Any
    masks: Any
    words: int
    stride: int
    shift: Any
    fits: Any


class Tally(NamedTuple):
    """What one thread counts into."""

    prefix: Any
    """(options,) combinations kept that take each option of the prefix lists."""
    whole: Any
    """(depths + 1,) prefixes counted whole, by their length."""
    by_rank: Any
    """(bounds, leaf options + 1) prefixes that only one bound concerned, by how many options it let through."""
    sums: Any
    """(levels, words) bit-sliced counters: bit b of level n is worth 2**n for the leaf's option b."""
    waiting: Any
    """(levels, words) a second number that waits on a level to be added."""
    waits: Any
    """(levels,) whether one does."""


class Workspace(NamedTuple):
    """Room to work in, one for each thread."""

    open_bounds: Any
    """(depths + 1, bounds) the bounds that a prefix of this length can still break ..."""
    left: Any
    """(depths + 1, bounds) ... and what it leaves of each, in the same places."""
    opens: Any
    """(depths + 1,) how many these are."""
    option: Any
    """(depths + 1,) the option taken of each list."""
    counted: Any
    """(depths + 1,) combinations counted below the option taken."""
    step: Any
    """(bounds,) at the leaf, what the table says of each open bound: see `Tables.fits`."""
    row: Any
    """(bounds,) ... and the row of its masks."""
    fitting: Any
    """(words,) the leaf's options that fit, a bit each."""


@machine_code
def walk(first_option: int, stop: Any, prefixes: Prefixes, leaf: LeafRows, tally: Tally, work: Workspace) -> int:
    """Walk all prefixes that take one option of the first list; adds to the tally, returns the count.

    ``stop``: (1,) not 0 to stop early; the tally means nothing then.
    """
    # All arrays are unpacked from their tuples here, once: numba counts a reference each time, which in the loops below
    # takes as long as the counting itself. The steps get just the arrays they need, for the same reason.
    sizes, starts, used, allowed, most_left, rest = prefixes
    sorted_used, order, masks, words, stride, shift, fits = leaf
    by_option, whole, by_rank, sums, waiting, waits = tally
    open_bounds, left, opens, option, counted, steps, rows, fitting = work
    depths = len(sizes)
    bounds, remains = open_bounds[depths], left[depths]  # those of whole prefixes, which meet the leaf
    for bound in range(len(allowed)):
        open_bounds[0, bound] = bound
        left[0, bound] = allowed[bound]
    opens[0] = len(allowed)
    option[0] = first_option
    counted[0] = 0
    depth = 0
    while True:
        if option[depth] >= (first_option + 1 if depth == 0 else sizes[depth]):
            if depth == 0:
                break
            # This list is done: what was counted below it belongs to the option that the list before it takes.
            found = counted[depth]
            depth -= 1
            by_option[starts[depth] + option[depth]] += found
            counted[depth] += found
            option[depth] += 1
            continue
        place = starts[depth] + option[depth]
        still = take_option(depth, opens[depth], place, used, most_left, open_bounds, left)
        if still > 0 and depth + 1 < depths:
            if stop[0] != 0:
                break
            depth += 1
            opens[depth] = still
            option[depth] = 0
            counted[depth] = 0
            continue
        found = 0
        if still == 0:
            # Nothing that follows can break a bound any more, so all of it is counted at once; the options that follow
            # get their share later, from `whole`.
            whole[depth + 1] += 1
            found = rest[depth + 1]
        elif still > 0:
            # The leaf: how many of its options fit what the prefix leaves of each open bound.
            least, tightest, some = look_up(still, bounds, remains, fits, shift, stride, words, steps, rows)
            if least > 0 and still == 1:
                # The options that fit are the first ones by use: their number is enough, no bits are needed.
                found = true_rank(bounds[0], steps[0] >> 1, sorted_used, remains[0])
                by_rank[bounds[0], found] += 1
            elif least > 0 and intersect(still, tightest, some, bounds, rows, masks, words, len(allowed), fitting):
                take_out_surplus(still, bounds, remains, steps, rows, stride, sorted_used, order, fitting)
                found = count_bits(some, fitting)
                if found > 0:
                    for word in range(some, words):
                        fitting[word] = 0
                    count_each_bit(fitting, sums, waiting, waits)
        by_option[place] += found
        counted[depth] += found
        option[depth] += 1
    return int(counted[0])


@inlined
def take_option(depth: int, opens: int, place: int, used: Any, most_left: Any, open_bounds: Any, left: Any) -> int:
    """Take the option at a place: how many bounds stay open after it, or -1 where it breaks one."""
    still = 0
    for at in range(opens):
        bound = open_bounds[depth, at]
        remains = left[depth, at] - used[place, bound]
        if remains < 0:
            return -1
        # Written before it is known whether the bound stays open: if not, the next one is written over it.
        open_bounds[depth + 1, still] = bound
        left[depth + 1, still] = remains
        if remains < most_left[depth + 1, bound]:
            still += 1
    return still


@inlined
def look_up(
    still: int, bounds: Any, remains: Any, fits: Any, shift: Any, stride: int, words: int, steps: Any, rows: Any
) -> tuple[int, int, int]:
    """Look up the leaf's options for each open bound, into ``steps`` and ``rows``.

    Returns the least number of options that fit (at most), the place of the bound it is of, and the words in use.
    """
    least: Any = 1 << 62
    tightest = 0
    for at in range(still):
        bound = bounds[at]
        step = np.int64(fits[bound, remains[at] >> shift[bound]])
        fit: Any = step >> 1
        steps[at] = step
        # Rows hold whole strides of options, so that the masks stay in the cache: the next row up holds all that fit.
        rows[at] = (fit + stride - 1) // stride
        if fit < least:
            least = fit
            tightest = at
        if bound == 0:
            # Bits are in the order of what they use of bound 0: no word after its last bit can hold one that fits.
            words = min(words, (rows[at] * stride + 63) >> 6)
    return least, tightest, words


@inlined
def true_rank(bound: int, rank: int, sorted_used: Any, remains: int) -> int:
    """How many options fit: the table's steps are coarse and may give too many, so the sorted uses decide."""
    while rank > 0 and sorted_used[bound, rank - 1] > remains:
        rank -= 1
    return rank


@inlined
def intersect(
    still: int, tightest: int, some: int, bounds: Any, rows: Any, masks: Any, words: int, all_bounds: int, fitting: Any
) -> bool:
    """Intersect the first words of the rows of two or more open bounds; whether any bit is left.

    It begins with the bound that lets the fewest options through: most often nothing is left soon.
    """
    rows_a_bound = len(masks) // (all_bounds * words)
    begin = (bounds[tightest] * rows_a_bound + rows[tightest]) * words
    for word in range(some):
        fitting[word] = masks[begin + word]
    for at in range(still):
        if at == tightest:
            continue
        begin = (bounds[at] * rows_a_bound + rows[at]) * words
        there = masks[begin : begin + some]
        any_ = np.uint64(0)
        for word in range(some):
            value = fitting[word] & there[word]
            fitting[word] = value
            any_ |= value
        if any_ == np.uint64(0):
            return False
    return True


@inlined
def take_out_surplus(
    still: int,
    bounds: Any,
    remains: Any,
    steps: Any,
    rows: Any,
    stride: int,
    sorted_used: Any,
    order: Any,
    fitting: Any,
) -> None:
    """Take out the options that the rows hold too many: those up to the next stride, and those of a coarse step."""
    one = np.uint64(1)
    width = sorted_used.shape[1]
    for at in range(still):
        bound = bounds[at]
        rank = steps[at] >> 1
        for surplus in range(rank, min(rows[at] * stride, width)):
            bit = order[bound, surplus]
            fitting[bit >> 6] &= ~(one << np.uint64(bit & 63))
        if steps[at] & 1:
            while rank > 0 and sorted_used[bound, rank - 1] > remains[at]:
                rank -= 1
                bit = order[bound, rank]
                fitting[bit >> 6] &= ~(one << np.uint64(bit & 63))


@inlined
def count_bits(words: int, fitting: Any) -> int:
    """How many bits are set: by pairs, fours, eights and bytes, since numpy's own count is not compiled."""
    pairs, fours, nibbles = np.uint64(0x5555555555555555), np.uint64(0x3333333333333333), np.uint64(0x0F0F0F0F0F0F0F0F)
    every_byte = np.uint64(0x0101010101010101)
    one, two, four, top = np.uint64(1), np.uint64(2), np.uint64(4), np.uint64(56)
    bits = np.uint64(0)
    for word in range(words):
        value = fitting[word]
        value = value - ((value >> one) & pairs)
        value = (value & fours) + ((value >> two) & fours)
        value = (value + (value >> four)) & nibbles
        bits += (value * every_byte) >> top
    return np.int64(bits)  # type: ignore[return-value]


@inlined
def count_each_bit(fitting: Any, sums: Any, waiting: Any, waits: Any) -> None:
    """Add 1 to the counter of each bit that is set, many at once.

    The counters are sliced: a level is one binary digit of all of them. The first number on a level waits; with the second
    comes a full adder over both and the level's digit, whose carry goes on to the next level. So half of all numbers
    touch one level only, a quarter two, and so on.
    """
    level = 0
    while waits[level]:
        digit = sums[level]
        other = waiting[level]
        for word in range(len(fitting)):
            first = digit[word]
            second = other[word]
            third = fitting[word]
            either = first ^ second
            digit[word] = either ^ third
            fitting[word] = (first & second) | (either & third)
        waits[level] = False
        level += 1
    other = waiting[level]
    for word in range(len(fitting)):
        other[word] = fitting[word]
    waits[level] = True


@machine_code
def pairs_at_most(steps: int, left: Any, run: Any, sorted_sums: Any) -> int:
    """`rows.pairs_at_most` by a table of ``steps`` over the sums, in place of a binary search for each pair."""
    size = len(sorted_sums)
    largest = sorted_sums[size - 1]
    shift = 0
    while largest >> shift >= steps:
        shift += 1
    fits = np.empty((largest >> shift) + 1, dtype=np.int64)
    place = 0
    for step in range(len(fits)):
        while place < size and sorted_sums[place] <= step << shift:
            place += 1
        fits[step] = place
    count = 0
    for one in range(len(left)):
        for at in range(len(run)):
            remains = left[one] - run[at]
            if remains < 0:
                break
            if remains >= largest:
                count += size
                continue
            place = fits[remains >> shift]
            while sorted_sums[place] <= remains:
                place += 1
            count += place
    return count
