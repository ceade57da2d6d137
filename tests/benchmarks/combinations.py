"""Counting every lunch of an offer: against numpy one target at a time over blocks, a pandas cross join, and scoring all.

Five lists of 60 options, 777,600,000 combinations. *Realistic*: portions of real lunch foods against a shipped
standard's targets (figures nobody knows as 0, for all ways alike); *dense random*: 20 targets each of which nine in ten
combinations keep. Ours counts the right ones, each target on its own and each option; the yardsticks only the right ones.
Yardsticks run for a while and are told by combinations a second.
"""

import time
import tracemalloc
from collections.abc import Callable, Iterator, Sequence
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

from service.domain.counting.combinations import Counts
from service.domain.counting.compiled import is_installed
from service.domain.counting.ranked import best_and_worst
from service.domain.counting.scores import Scorer
from service.domain.counting.survey import survey
from service.domain.foods.amounts import ItemVector, credit_option, item_vector
from service.domain.lunch.compiling import compile_targets
from service.domain.lunch.standards import Target, TargetTable
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckRequest
from service.reference.foods.catalogue import packable_foods
from service.reference.lunch.standards import crediting_scheme, standard
from tests.benchmarks.figure import Figure
from tests.benchmarks.lunch_check_rate import BODY
from tests.domain.counting.combination_cases import Span, count, values_and_rules

Whole = npt.NDArray[np.int64]
Lists = list[list[tuple[ItemVector, ...]]]

ON = date(2026, 12, 1)
LARGE = (60,) * 5
HUGE = (115,) * 5
EVERYDAY = (6, 5, 4, 6, 6)
KINDS = (
    ("breads", "grains", "crackers"),
    ("meats", "cheese", "fish", "eggs", "beans-and-soy", "nut-and-seed-butters"),
    ("fruit", "dried-fruit"),
    ("vegetables", "soups", "spreads-and-dips"),
    ("milk", "yogurt", "plant-drinks", "sweet-snacks", "savoury-snacks", "drinks"),
)
SECONDS = 2.0
BLOCK_ROWS = 16


def realistic(standard_id: str, group: int, sizes: Sequence[int]) -> tuple[TargetTable, Lists]:
    """A compiled table, and lists of options: each a portion of a lunch food of some kinds, drawn at random."""
    draw = np.random.default_rng(1)
    known = standard(standard_id)
    table = compile_targets(known, known.age_groups[group], ON)
    scheme = crediting_scheme(known.crediting)
    foods = list(packable_foods())
    lists: Lists = []
    for kinds, size in zip(KINDS, sizes, strict=True):
        portions = [(food, unit.grams_mg) for food in foods if food.category in kinds for unit in food.units]
        chosen = [portions[place] for place in draw.permutation(len(portions))[:size]]
        lists.append([(item_vector(food, mg, scheme, credit_option(food, None)),) for food, mg in chosen])
    return table, lists


def exact_spans(targets: Sequence[Target], lists: Lists) -> list[Span]:
    """The targets' own rows over the options."""
    spans = []
    for row in targets:
        values = [
            np.array([sum(w * v.nominal[m] for (v,) in [one] for m, w in row.terms) for one in options], dtype=np.int64)
            for options in lists
        ]
        spans.append(Span(values, values, row.lowest, row.highest))
    return spans


def dense(sizes: Sequence[int], rows: int = 20) -> list[Span]:
    """Random rows, bounded below and above in turns, each kept by nine combinations in ten."""
    draw = np.random.default_rng(1)
    spans = []
    for number in range(rows):
        values = [draw.integers(0, 200_000, size) for size in sizes]
        sums = sum(part[draw.integers(0, len(part), 100_000)] for part in values)
        if number % 2:
            spans.append(Span(values, values, None, int(np.quantile(sums, 0.9))))
        else:
            spans.append(Span(values, values, int(np.quantile(sums, 0.1)), None))
    return spans


def sizes_of(spans: Sequence[Span]) -> list[int]:
    """The sizes of the lists."""
    return [len(part) for part in spans[0].low]


def sums_of(span: Span, places: Sequence[int]) -> Whole:
    """All sums of a row over some lists."""
    total = np.zeros(1, dtype=np.int64)
    for place in places:
        total = (total[:, None] + span.low[place][None, :]).ravel()
    return total


def blocks_a_second(spans: Sequence[Span]) -> float:
    """The yardstick: prefixes times the last two lists, one bound after the other, numpy; combinations a second.

    A few prefixes at a time, so that everything stays in the cache; faster here than blocks of whole lists.
    """
    sizes = sizes_of(spans)
    bounds = []
    for span in spans:
        inner, outer = sums_of(span, [3, 4]), sums_of(span, [0, 1, 2])
        if span.at_most is not None:
            bounds.append((inner, span.at_most - outer, np.less_equal))
        if span.at_least is not None:
            bounds.append((inner, span.at_least - outer, np.greater_equal))
    width = sizes[3] * sizes[4]
    keeps = np.empty((BLOCK_ROWS, width), dtype=np.bool_)
    right = np.empty_like(keeps)
    prefixes = np.random.default_rng(3).permutation(sizes[0] * sizes[1] * sizes[2])
    done = found = 0
    began = time.perf_counter()
    while time.perf_counter() - began < SECONDS and done < len(prefixes) - BLOCK_ROWS:
        some = prefixes[done : done + BLOCK_ROWS]
        right.fill(True)
        for inner, left, compare in bounds:
            compare(inner[None, :], left[some, None], out=keeps)
            np.logical_and(right, keeps, out=right)
        found += int(np.count_nonzero(right))
        done += BLOCK_ROWS
    return done * width / (time.perf_counter() - began)


def cross_join_a_second(spans: Sequence[Span]) -> float:
    """The obvious pandas code on ten options a list: cross join, add up, compare; combinations a second."""
    frames = [
        pd.DataFrame({f"{row}_{place}": span.low[place][:10] for row, span in enumerate(spans)}) for place in range(5)
    ]
    began = time.perf_counter()
    joined = frames[0]
    for frame in frames[1:]:
        joined = joined.merge(frame, how="cross")
    right = pd.Series(True, index=joined.index)
    for row, span in enumerate(spans):
        total = sum(joined[f"{row}_{place}"] for place in range(5))
        if span.at_least is not None:
            right &= total >= span.at_least
        if span.at_most is not None:
            right &= total <= span.at_most
    int(right.sum())
    return len(joined) / (time.perf_counter() - began)


def scored_a_second(targets: Sequence[Target], lists: Lists) -> float:
    """Scoring all with numpy, block by block, keeping the best and worst five; combinations a second."""
    scorer = Scorer(targets, lists)
    inner = (scorer.features[3][:, :, None] + scorer.features[4][:, None, :]).reshape(len(scorer.features[3]), -1)
    outer = (scorer.features[0][:, :, None] + scorer.features[1][:, None, :]).reshape(len(inner), -1)
    best = np.full(5, -np.inf)
    worst = np.full(5, np.inf)
    done = 0
    began = time.perf_counter()
    while time.perf_counter() - began < SECONDS:
        scores = scorer.scores(inner + outer[:, done % outer.shape[1], None])
        best = np.partition(np.concatenate([best, scores]), -5)[-5:]
        worst = np.partition(np.concatenate([worst, scores]), 4)[:5]
        done += 1
    return done * inner.shape[1] / (time.perf_counter() - began)


def least_seconds(work: Callable[[], object], rounds: int = 3) -> float:
    """The least time of some rounds."""
    best = float("inf")
    for _ in range(rounds):
        began = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - began)
    return best


def counted(spans: Sequence[Span], *, compiled: bool, per_row: bool = True) -> Counts:
    """Our count."""
    return count(spans, sizes_of(spans), compiled=compiled, per_row=per_row)


def peak_mb(work: Callable[[], object]) -> float:
    """The most memory that Python and numpy held at once during some work, in MB."""
    tracemalloc.start()
    work()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / 1e6


def figures() -> Iterator[Figure]:
    """Counting with numpy alone, then compiled; the best and worst; an everyday offer."""
    table, lists = realistic("gb-sct-school-lunch", 0, LARGE)
    offers = {
        "realistic": exact_spans(table.targets, lists),
        "dense random": dense(LARGE),
    }
    for name, spans in offers.items():
        yield from _counting(name, spans)
    if is_installed():
        huge = exact_spans(*_targets_and_lists(HUGE))
        seconds = least_seconds(lambda: counted(huge, compiled=True), 1)
        yield Figure("combinations: 2e10 of 10 s, compiled", seconds / 10, 1.0, at_most=True, detail=f"{seconds:.2f} s")
    for standard_id, group in (("gb-sct-school-lunch", 0), ("us-school-lunch", 5), ("jp-school-lunch", 0)):
        yield _ranking(*realistic(standard_id, group, LARGE))
    everyday = exact_spans(*_targets_and_lists(EVERYDAY))
    values, limits = values_and_rules(everyday, EVERYDAY)
    ours = least_seconds(lambda: survey(values, limits, limits).options(), 50)
    asked = LunchCheckRequest.model_validate_json(BODY)
    check = least_seconds(lambda: check_lunch(asked), 50)
    detail = f"4,320 lunches a child: {ours * 1e3:.2f} ms, a check {check * 1e3:.2f} ms"
    yield Figure("combinations: family of four, in lunch checks", 4 * ours / check, 10.0, at_most=True, detail=detail)


def _targets_and_lists(sizes: Sequence[int]) -> tuple[Sequence[Target], Lists]:
    table, lists = realistic("gb-sct-school-lunch", 0, sizes)
    return table.targets, lists


def _counting(name: str, spans: Sequence[Span]) -> Iterator[Figure]:
    total = int(np.prod(sizes_of(spans), dtype=np.int64))
    blocks = max(blocks_a_second(spans) for _ in range(2))
    joined = max(cross_join_a_second(spans) for _ in range(2))
    seconds = least_seconds(lambda: counted(spans, compiled=False))
    share = counted(spans, compiled=False, per_row=False).right / total
    told = f"{len(spans)} targets, {share:.2%} right, {seconds:.2f} s; blocks {blocks / 1e6:.0f} million/s"
    goal = 8.0 if name == "realistic" else 5.0
    yield Figure(f"combinations: {name}, numpy against blocks", total / seconds / blocks, goal, detail=told)
    yield Figure(f"combinations: {name}, numpy against a join", total / seconds / joined, 300.0)
    memory = peak_mb(lambda: counted(spans, compiled=False))
    yield Figure(f"combinations: {name}, memory of 150 MB", memory / 150, 1.0, at_most=True, detail=f"{memory:.0f} MB")
    if not is_installed():
        return
    counted(spans, compiled=True)
    seconds = least_seconds(lambda: counted(spans, compiled=True), 5)
    joint = least_seconds(lambda: counted(spans, compiled=True, per_row=False), 5)
    told = f"{seconds:.3f} s on two threads, {joint:.3f} s without each target on its own"
    if name == "realistic":
        yield Figure(f"combinations: {name}, compiled against blocks", total / seconds / blocks, 40.0, detail=told)
    yield Figure(f"combinations: {name}, 7.8e8 of 0.2 s", seconds / 0.2, 1.0, at_most=True, detail=told)


def _ranking(table: TargetTable, lists: Lists) -> Figure:
    total = int(np.prod([len(options) for options in lists], dtype=np.int64))
    rate = max(scored_a_second(table.targets, lists) for _ in range(2))
    ours = least_seconds(lambda: best_and_worst(table.targets, lists), 2)
    detail = f"{ours:.2f} s for both ends; scoring all {total / rate:.0f} s"
    return Figure(
        f"best and worst of scoring all, {table.standard.id}", ours * rate / total, 0.01, at_most=True, detail=detail
    )
