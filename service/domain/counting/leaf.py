"""Sets up the counting of a large branch: which lists are merged into the leaf, and the leaf's tables.

Some lists are merged into one *leaf* of up to ``LEAF_MOST`` options; the rest are walked through as
*prefixes*. For each bound the leaf's options are sorted by what they use. What a prefix leaves of the
allowance then gives a rank: so many of the sorted options still fit; and a table of bit masks holds, for a
rank, one bit for every option of the leaf. Intersecting the masks of all bounds gives all combinations of one
prefix at once.

A rank is read from a table of steps over what is left, as fine as ``STEP_BITS`` allows. A step that holds a
breakpoint gives two ranks; the true one is then found among the sorted uses themselves, so the result is exact
however coarse the table is.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import prod
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from service.domain.counting.spans import Allowances, Whole, starts_of, sums

Words = npt.NDArray[np.uint64]
Small = npt.NDArray[np.int32]

LEAF_MOST = 4096
STEP_BITS = 14
WORD = 64
LOOKUP = 12
PART = 4000
"""What looking up a row, and setting up a part, costs compared with handling one word (measured, roughly)."""


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """A part of a branch counted in one go: prefix lists, and a leaf of merged lists (of one a slice).

    ``prefix_used``: (bounds, options of the prefix lists). ``leaf_used``: (bounds, leaf options), least 0.
    ``most_left``: (depth, bounds), the most that the lists from this depth on can use. ``rest``: how many
    combinations they make. Bounds are ordered tightest first.
    """

    prefix_lists: tuple[int, ...]
    prefix_sizes: tuple[int, ...]
    prefix_used: Whole
    leaf_lists: tuple[int, ...]
    leaf_from: tuple[int, ...]
    leaf_sizes: tuple[int, ...]
    leaf_used: Whole
    allowed: Whole
    most_left: Whole
    rest: tuple[int, ...]

    @property
    def starts(self) -> list[int]:
        """Where each prefix list begins among the options of the prefix lists."""
        return starts_of(self.prefix_sizes)


@dataclass(frozen=True, slots=True, eq=False)
class Tables:
    """The leaf's tables, a row a bound.

    ``columns``: the leaf's options in the order of the bits, those that use least of the tightest bound first.
    ``sorted_used`` and ``order``: these bits by what they use. ``masks``: (bounds, blocks, rows, words); row r
    holds the ``r * stride`` bits that use least, a block of words next to the other. ``shift``: bits dropped
    from what is left to get a step. ``fits``: twice how many options fit at the end of a step, and 1 more where
    fewer may fit within it; everything fits in the last step.
    """

    columns: Whole
    sorted_used: Whole
    order: Small
    masks: Words
    stride: int
    shift: Whole
    fits: Small


class Leaf(NamedTuple):
    """Which lists are merged into the leaf, and the one that is sliced for it: its place (None) and a slice's width."""

    lists: tuple[int, ...]
    sliced: int | None
    width: int


def leaf_of(sizes: tuple[int, ...], most: int, stride: int = 1) -> Leaf:
    """The leaf with the least work: larger ones save lookups, but their tables cost more; slices repeat both.

    Work is counted in words a bound: the tables' rows, sorting, and for every prefix a lookup and a row.
    """
    total = prod(sizes)

    def work(width: int, parts: int) -> float:
        tables = parts * (width * width / (WORD * stride) + LOOKUP * width + PART)
        return tables + LOOKUP * total / width

    # Every product of list sizes within the limit, with the lists that make it: all leaves that need no slice.
    reached: dict[int, tuple[int, ...]] = {1: ()}
    for place in reversed(range(len(sizes))):
        for product, lists in sorted(reached.items()):
            if product * sizes[place] <= most and product * sizes[place] not in reached:
                reached[product * sizes[place]] = (place, *lists)
    best = min((work(merged, 1), Leaf(lists, None, 1)) for merged, lists in reached.items() if lists or merged < most)
    # Beside them, each with its smallest other list cut into slices that just fit: the part is then counted slice by slice.
    for merged, lists in reached.items():
        others = [place for place in range(len(sizes)) if place not in lists and most // merged >= 2]
        for place in sorted(others, key=lambda one: sizes[one])[:1]:
            parts = -(-sizes[place] // (most // merged))
            width = -(-sizes[place] // parts)
            best = min(best, (work(merged * width, parts), Leaf((*lists, place), place, width)), key=lambda one: one[0])
    return best[1]


def parts_of(bounds: Allowances, most: int, stride: int = 1) -> Iterator[Part]:
    """Split a branch into parts; those in which some bound cannot be kept are left out."""
    sizes = bounds.sizes
    leaf, sliced, width = leaf_of(sizes, most, stride)
    prefix = tuple(sorted((place for place in range(len(sizes)) if place not in leaf), key=lambda place: -sizes[place]))
    starts = bounds.starts
    for first in range(0, sizes[sliced], width) if sliced is not None else (0,):
        leaf_from = [first if place == sliced else 0 for place in leaf]
        leaf_sizes = [min(width, sizes[place] - first) if place == sliced else sizes[place] for place in leaf]
        found = _part(
            bounds,
            prefix,
            leaf,
            tuple(leaf_from),
            tuple(leaf_sizes),
            sums(bounds.used, leaf_sizes, [starts[p] + f for p, f in zip(leaf, leaf_from, strict=True)]),
        )
        if found is not None:
            yield found


def _part(
    bounds: Allowances,
    prefix: tuple[int, ...],
    leaf: tuple[int, ...],
    leaf_from: tuple[int, ...],
    leaf_sizes: tuple[int, ...],
    leaf_used: Whole,
) -> Part | None:
    starts = bounds.starts
    least = leaf_used.min(axis=1)
    leaf_used = leaf_used - least[:, None]
    allowed = bounds.allowed - least
    if (allowed < 0).any():
        return None
    prefix_sizes = tuple(bounds.sizes[place] for place in prefix)
    parts = [bounds.used[:, starts[p] : starts[p] + bounds.sizes[p]] for p in prefix]
    most_left = np.zeros((len(prefix) + 1, len(allowed)), dtype=np.int64)
    most_left[-1] = leaf_used.max(axis=1)
    rest = [prod(leaf_sizes)]
    for depth in reversed(range(len(prefix))):
        most_left[depth] = most_left[depth + 1] + parts[depth].max(axis=1)
        rest.insert(0, rest[0] * prefix_sizes[depth])
    # Bounds that nothing can break are left out. The tightest come first: they drop prefixes soonest, and the bits of the
    # leaf are put in the order of the first one.
    tight = np.flatnonzero(most_left[0] > allowed)
    tight = tight[np.argsort(allowed[tight] / most_left[0][tight], kind="stable")]
    prefix_used = np.concatenate(parts, axis=1) if parts else np.zeros((len(allowed), 0), dtype=np.int64)
    return Part(
        prefix_lists=prefix,
        prefix_sizes=prefix_sizes,
        prefix_used=prefix_used[tight],
        leaf_lists=leaf,
        leaf_from=leaf_from,
        leaf_sizes=leaf_sizes,
        # What is more than the whole allowance is all one: the tables stay as short as the allowance.
        leaf_used=np.minimum(leaf_used[tight], allowed[tight][:, None] + 1),
        allowed=allowed[tight],
        most_left=most_left[:, tight],
        rest=tuple(rest),
    )


def tables_of(part: Part, stride: int, most_words: int, multiple: int) -> Tables:
    """Build the tables of a part's leaf, which has at least one bound.

    The masks take bounds x options / stride x options / 8 bytes; ``most_words``: of a block, in which there is a
    ``multiple`` of words.
    """
    columns = np.argsort(part.leaf_used[0], kind="stable")
    used = part.leaf_used[:, columns]
    count, width = used.shape
    order = np.argsort(used, axis=1, kind="stable")
    sorted_used = np.take_along_axis(used, order, axis=1)
    needed = -(-width // WORD)
    blocks = -(-needed // most_words)
    words = -(-needed // (blocks * multiple)) * multiple
    masks: Words = np.zeros((count, blocks, -(-width // stride) + 1, words), dtype=np.uint64)
    bound = np.arange(count)[:, None]
    # First each row gets only the options that it has more than the row before; then they are added up row by row.
    for offset in range(min(stride, width)):
        option = order[:, offset::stride]
        later = np.arange(1, option.shape[1] + 1)[None, :]
        word = option // WORD
        masks[bound, word // words, later, word % words] |= np.uint64(1) << (option % WORD).astype(np.uint64)
    np.bitwise_or.accumulate(masks, axis=2, out=masks)
    largest = sorted_used[:, -1]
    shift = np.array([max(0, int(value).bit_length() - STEP_BITS) for value in largest], dtype=np.int64)
    steps = int((largest >> shift).max()) + 2
    fits: Small = np.empty((count, steps), dtype=np.int32)
    for row in range(count):
        step = sorted_used[row] >> shift[row]
        # A use at the very start of a step fits anything that is left within the step; any other one may or may not.
        within = (step << shift[row]) != sorted_used[row]
        fits[row] = np.bincount(step, minlength=steps).cumsum() << 1
        fits[row, step[within]] |= 1
    return Tables(
        columns=columns,
        sorted_used=sorted_used,
        order=order.astype(np.int32),
        masks=masks,
        stride=stride,
        shift=shift,
        fits=fits,
    )
