"""In what order to make things, so that board, knife and hands are washed as few times as can be.

Between two washings every item comes after those that are known to hold less of what its eaters avoid. Common practice, no source.
"""

from collections.abc import Iterable, Sequence

MOST_EXACT = 12
"""Up to so many items the fewest washings are found; beyond that, few."""


def fewest_runs(levels: Sequence[Sequence[int]], needs: Sequence[frozenset[int]]) -> list[list[int]]:
    """The items by place, in runs; between two runs everything is washed.

    ``levels``: for each item and allergen 0 (not declared), 1 (not known, or a warning) or 2 (holds it). ``needs``: for
    each item the allergens that those who eat it avoid: it may not follow an item with a higher level of one of these.

    >>> fewest_runs([[2, 1], [1, 1], [1, 2]], [frozenset({0, 1})] * 3)
    [[1, 0], [2]]
    """
    count = len(levels)
    # May each item stand before each other one? As bits: the items that may come before it.
    before = [
        sum(
            1 << one
            for one in range(count)
            if one != other and all(levels[one][allergen] <= levels[other][allergen] for allergen in needs[other])
        )
        for other in range(count)
    ]
    cleanest_first = sorted(range(count), key=lambda one: (max(levels[one], default=0), sum(levels[one]), one))
    return _exact(before, cleanest_first) if count <= MOST_EXACT else _greedy(before, cleanest_first)


def _exact(before: Sequence[int], cleanest_first: Sequence[int]) -> list[list[int]]:
    """A dynamic programme over subsets: the fewest runs for each set of items."""
    count = len(before)
    last = [-1] * (1 << count)
    """For each set that can be made in one run, the item that comes last; -1 for the others."""
    for items in range(1, 1 << count):
        for item in reversed(cleanest_first):
            rest = items & ~(1 << item)
            if items >> item & 1 and rest & ~before[item] == 0 and (not rest or last[rest] >= 0):
                last[items] = item
                break
    fewest = [0] * (1 << count)
    run_of = [0] * (1 << count)
    for items in range(1, 1 << count):
        lowest = items & -items
        fewest[items] = count + 1
        others = part = items ^ lowest
        while True:
            run = part | lowest
            if last[run] >= 0 and fewest[items ^ run] + 1 < fewest[items]:
                fewest[items], run_of[items] = fewest[items ^ run] + 1, run
            if not part:
                break
            part = (part - 1) & others
    runs = []
    left = (1 << count) - 1
    while left:
        run, order = run_of[left], list[int]()
        left ^= run
        while run:
            order.append(last[run])
            run ^= 1 << last[run]
        runs.append(order[::-1])
    return _cleanest_run_first(runs, cleanest_first)


def _greedy(before: Sequence[int], cleanest_first: Iterable[int]) -> list[list[int]]:
    """Each item goes to the end of the first run that it may follow."""
    runs: list[list[int]] = []
    for item in cleanest_first:
        for run in runs:
            if all(before[item] >> one & 1 for one in run):
                run.append(item)
                break
        else:
            runs.append([item])
    return runs


def _cleanest_run_first(runs: list[list[int]], cleanest_first: Sequence[int]) -> list[list[int]]:
    return sorted(runs, key=lambda run: cleanest_first.index(run[0]))
