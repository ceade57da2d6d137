"""Counting an offer's combinations: a count by hand, branches of a hundred thousand, and what stops a count."""

import subprocess
import sys
import time
from collections.abc import Sequence
from itertools import product

import numpy as np
import pytest

from service.domain.counting import combinations
from service.domain.counting import compiled as combinations_compiled
from service.domain.counting import counters as combinations_counters
from service.domain.counting.combinations import Counts, RowCounts
from service.domain.counting.leaf import leaf_of
from service.domain.counting.spans import NO_END
from tests.domain.counting.combination_cases import Row, Span, count

NUMBA = "the extra 'compiled' (numba) is not installed"


def row(
    values: Sequence[Sequence[int | None]], at_least: int | None = None, at_most: int | None = None, **more: bool
) -> Span:
    """A row from plain numbers; None: nobody knows, from 0 up without an end."""
    pairs = tuple(tuple((0, None) if one is None else (one, one) for one in part) for part in values)
    return Row(pairs, at_least, at_most, more.get("only_if_certain", False), None).span()


HAND_COUNT = """
main           fruit    drink    calcium (at least 300 mg)   sodium (at most 600 mg)
cheese roll    apple    milk     200 +  6 + 300 = 506 kept   450 + 1 + 100 = 551 kept   right
cheese roll    apple    water    200 +  6 +  10 = 216 short  450 + 1 +   5 = 456 kept   wrong
cheese roll    raisins  milk     200 + 15 + 300 = 515 kept   450 + 5 + 100 = 555 kept   right
cheese roll    raisins  water    200 + 15 +  10 = 225 short  450 + 5 +   5 = 460 kept   wrong
ham roll       apple    milk      20 +  6 + 300 = 326 kept   700 + 1 + 100 = 801 over   wrong
ham roll       apple    water     20 +  6 +  10 =  36 short  700 + 1 +   5 = 706 over   wrong
ham roll       raisins  milk      20 + 15 + 300 = 335 kept   700 + 5 + 100 = 805 over   wrong
ham roll       raisins  water     20 + 15 +  10 =  45 short  700 + 5 +   5 = 710 over   wrong
bean roll      apple    milk       ? +  6 + 300 >= 306 kept  495 + 1 + 100 = 596 kept   right
bean roll      apple    water      ? +  6 +  10 >=  16 ?     495 + 1 +   5 = 501 kept   unknown
bean roll      raisins  milk       ? + 15 + 300 >= 315 kept  495 + 5 + 100 = 600 kept   right (at the bound)
bean roll      raisins  water      ? + 15 +  10 >=  25 ?     495 + 5 +   5 = 505 kept   unknown
"""
"""Twelve lunches counted by hand; the figures are round ones of no real food. "?": no figure for the calcium of the beans."""


def test_a_small_offer_counted_by_hand(capsys: pytest.CaptureFixture[str]) -> None:
    calcium = row([[200, 20, None], [6, 15], [300, 10]], at_least=300)
    sodium = row([[450, 700, 495], [1, 5], [100, 5]], at_most=600)
    found = count([calcium, sodium], [3, 2, 2])
    print(HAND_COUNT, found)
    assert found == Counts(
        total=12,
        right=4,
        wrong=6,
        unknown=2,
        rows=(RowCounts(kept=6, short=4, over=0, unknown=2), RowCounts(kept=8, short=0, over=4, unknown=0)),
        option_right=((2, 0, 2), (2, 2), (4, 0)),
        option_unknown=((0, 0, 2), (1, 1), (0, 2)),
    )
    lines = [line.split() for line in HAND_COUNT.splitlines()[2:]]
    verdicts = ["right" if "right" in line else line[-1] for line in lines]
    assert [verdicts.count(verdict) for verdict in ("right", "wrong", "unknown")] == [4, 6, 2]
    assert "bean roll" in capsys.readouterr().out


def test_a_weeks_mean_counts_only_where_it_is_broken_for_certain() -> None:
    calcium = row([[200, 20, None], [6, 15], [300, 10]], at_least=300, only_if_certain=True)
    found = count([calcium], [3, 2, 2])
    assert (found.right, found.wrong, found.unknown) == (8, 4, 0)
    assert found.rows == (RowCounts(kept=6, short=4, over=0, unknown=2),)


def test_a_row_lies_idle_where_every_option_does() -> None:
    """Fat under 30 % of energy, strictly: 9 * 100 * fat - 30 * energy < 0. Water and nothing have no energy to share."""
    energy, fat = [[0, 300], [0, 100]], [[0, 20], [0, 1]]
    share = [[900 * f - 30 * e for f, e in zip(*one, strict=True)] for one in zip(fat, energy, strict=True)]
    span = row(share, at_most=-1)
    idle = Span(span.low, span.high, None, -1, idle=[np.array([True, False]), np.array([True, False])])
    assert count([span], [2, 2]).rows == (RowCounts(kept=1, short=0, over=3, unknown=0),)
    found = count([idle], [2, 2])
    assert found.rows == (RowCounts(kept=1, short=0, over=2, unknown=0, idle=1),)
    assert (found.right, found.option_right) == (2, ((2, 0), (1, 1)))


def test_without_rows_every_combination_is_right() -> None:
    found = count([], [3, 4])
    assert (found.right, found.rows) == (12, ())
    assert found.option_right == ((4, 4, 4), (3, 3, 3, 3))


@pytest.mark.parametrize(
    ("rows", "sizes", "words"),
    [
        ([], [], "at least one list"),
        ([], [3, 0], "at least one option"),
        ([], [1] * 41, "more than 40"),
        ([], [70_000] * 3, "use an estimate"),
        ([row([[1, 2]], at_most=1)], [3], "do not fit"),
        ([row([[1, 2]], at_most=1 << 55)], [2], "beyond"),
        ([row([[1, 1 << 51]], at_most=1)], [2], "lie within"),
    ],
)
def test_what_the_limits_do_not_cover_is_refused(rows: list[Span], sizes: list[int], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        count(rows, sizes)


def test_forty_unknown_ends_do_not_overflow() -> None:
    found = count([row([[None, 1 << 50]] * 14, at_most=(1 << 54)), row([[0, 1]] * 14, at_least=14)], [2] * 14)
    assert found.rows[0] == RowCounts(kept=1, short=0, over=0, unknown=(1 << 14) - 1)
    widest = [np.array([NO_END], dtype=np.int64)] * 40
    assert int(np.sum(widest)) == 40 * NO_END


# Branches too large to count in plain Python: the yardstick is one numpy array over all combinations.

SHAPES = [
    (30, 40, 7, 9, 11),
    (5, 300, 2, 70),
    (2000, 40, 5),
    (64, 2, 70, 66),
    (130, 130, 9),
    (5000, 3),
    (9000,),
    (2,) * 18,
]


def random_rows(shape: tuple[int, ...], seed: int, rows: int, reach: int) -> list[Span]:
    """Rows that are kept by most combinations, with many ties at the bounds where ``reach`` is small."""
    chance = np.random.default_rng(seed)
    spans = []
    for number in range(rows):
        values = [chance.integers(0, reach, size) for size in shape]
        sums = sum(part[chance.integers(0, len(part), 2000)] for part in values)
        low, high = (int(one) for one in np.quantile(sums, [0.06, 0.94]))
        spans.append(Span(values, values, None if number % 3 == 0 else low, None if number % 3 == 1 else high))
    return spans


def counted_as_one_array(spans: Sequence[Span], shape: tuple[int, ...]) -> tuple[int, list[int], list[list[int]]]:
    """Right combinations, those that keep each row, and right ones by option."""
    right = np.ones(shape, dtype=np.bool_)
    kept = []
    for span in spans:
        total = np.zeros((1,) * len(shape), dtype=np.int64)
        for axis, part in enumerate(span.low):
            total = total + part.reshape([-1 if other == axis else 1 for other in range(len(shape))])
        keeps = np.ones(shape, dtype=np.bool_)
        if span.at_least is not None:
            keeps &= total >= span.at_least
        if span.at_most is not None:
            keeps &= total <= span.at_most
        kept.append(int(keeps.sum()))
        right &= keeps
    axes = range(len(shape))
    by_option = [right.sum(axis=tuple(other for other in axes if other != axis)).tolist() for axis in axes]
    return int(right.sum()), kept, by_option


@pytest.mark.parametrize("compiled", [False, True], ids=["numpy", "compiled"])
@pytest.mark.parametrize("shape", SHAPES, ids=str)
def test_large_branches_are_counted_right(shape: tuple[int, ...], compiled: bool) -> None:
    if compiled:
        pytest.importorskip("numba", reason=NUMBA)
    for seed, (rows, reach) in enumerate([(1, 300_000), (3, 12), (7, 2_000), (12, 10**9)]):
        spans = random_rows(shape, seed, rows, reach)
        right, kept, by_option = counted_as_one_array(spans, shape)
        found = count(spans, shape, compiled=compiled)
        assert found.right == right
        assert [one.kept for one in found.rows] == kept
        assert [list(options) for options in found.option_right] == by_option


def test_numpy_and_compiled_agree_where_nothing_else_can_tell(monkeypatch: pytest.MonkeyPatch) -> None:
    """Half a billion combinations; each row's count is checked against the sums of two halves, sorted."""
    pytest.importorskip("numba", reason=NUMBA)
    shape = (55,) * 5
    spans = random_rows(shape, 5, 6, 200_000)
    one, other = count(spans, shape, compiled=False), count(spans, shape, compiled=True)
    assert one == other
    assert one.total == 55**5
    assert 0 < one.right < min(row.kept for row in one.rows)


def test_lists_that_nothing_hangs_on_multiply() -> None:
    spans = [row([[0] * 1000, [1, 2, 3], [0] * 900, [5, 6]], at_most=8)]
    found = count(spans, [1000, 3, 900, 2], compiled=False)
    assert found.right == 5 * 1000 * 900
    assert found.option_right[1] == (2 * 900_000, 2 * 900_000, 900_000)
    assert set(found.option_right[0]) == {5 * 900}


def test_the_leaf_stays_within_its_limit() -> None:
    for shape in [*SHAPES, (60,) * 5, (115,) * 5, (20_000, 20_000, 75), (3, 3)]:
        for most in (64, 4096):
            leaf = leaf_of(shape, most)
            width = leaf.width
            for place in leaf.lists:
                width *= 1 if place == leaf.sliced else shape[place]
            assert width <= most


class Stopped(Exception):
    """What a caller's tick raises."""


@pytest.mark.parametrize("compiled", [False, True], ids=["numpy", "compiled"])
def test_a_long_count_is_stopped_by_its_tick(compiled: bool) -> None:
    if compiled:
        pytest.importorskip("numba", reason=NUMBA)
        small = random_rows((40, 40, 40), 1, 3, 1000)
        count(small, (40, 40, 40), compiled=True)
    shape = (115,) * 6
    spans = random_rows(shape, 2, 12, 10**6)
    ticks: list[float] = []

    def tick() -> None:
        ticks.append(time.perf_counter())
        if len(ticks) == 3:
            raise Stopped

    with pytest.raises(Stopped):
        count(spans, shape, compiled=compiled, per_row=False, tick=tick)
    assert time.perf_counter() - ticks[-1] < 5.0


def test_where_numba_is_missing_numpy_counts(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(combinations_compiled, "is_installed", lambda: False)
    monkeypatch.setattr(combinations, "COMPILED_FROM", 0)
    monkeypatch.setattr(combinations, "COMPILED_FROM_WHEN_LOADED", 0)
    monkeypatch.setattr(combinations_compiled, "count_kept_compiled", None)
    assert count(random_rows((9, 9), 3, 2, 10), (9, 9)).total == 81


def test_nothing_imports_numba_before_it_is_used() -> None:
    modules = ["combinations", "spread", "days", "ranked", "estimate", "compiled", "rows"]
    code = "import sys\n" + "".join(f"import service.domain.counting.{one}\n" for one in modules)
    code += "sys.exit('numba' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_column_counts_add_up_bit_by_bit() -> None:
    rows = np.random.default_rng(4).integers(0, 1 << 63, (300, 3)).astype(np.uint64)
    expected = [sum(int(one[word]) >> bit & 1 for one in rows) for word, bit in product(range(3), range(64))]
    assert combinations_counters.column_counts(rows).tolist() == expected
