"""Every way of counting an offer's combinations gives what counting them one after the other gives.

The yardstick is plain Python over ``itertools.product`` (`tests/domain/combination_cases`): no tables, no arrays.
"""

import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from functools import lru_cache, partial
from importlib.util import find_spec, module_from_spec
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings

from service.domain.counting import compiled as combinations_compiled
from service.domain.counting import masks as combinations_masks
from service.domain.counting import rows as combinations_rows
from service.domain.counting.combinations import Counts
from tests.domain.counting.combination_cases import Row, Span, branches, count, counted_one_by_one
from tests.strategies import EXAMPLES

pytestmark = pytest.mark.property

MANY = settings(deadline=None, max_examples=12 * EXAMPLES, suppress_health_check=[HealthCheck.too_slow])
SOME = settings(MANY, max_examples=3 * EXAMPLES)

TINY = {
    combinations_masks: {"BLOCK": 5, "ROWS": 3, "LEAF_MOST": 9},
    combinations_compiled: {"LEAF_MOST": 9, "STRIDE": 3, "PAIR_STEPS": 4},
    combinations_rows: {"TOGETHER": 4},
}
"""Sizes of blocks and leaves so small that a branch of some dozen combinations is split like a large one."""


@contextmanager
def tiny(**also: dict[str, Any]) -> Iterator[None]:
    """Split even small branches."""
    with pytest.MonkeyPatch.context() as patch:
        for module, sizes in TINY.items():
            for name, size in sizes.items():
                patch.setattr(module, name, size)
        yield


def check(rows: list[Row], sizes: list[int], how: Callable[[Sequence[Span], Sequence[int]], Counts]) -> None:
    """Compare one way of counting with the yardstick."""
    assert how([row.span() for row in rows], sizes) == counted_one_by_one(rows, sizes)


@MANY
@given(branches())
def test_small_tables_count_right(branch: tuple[list[Row], list[int]]) -> None:
    check(*branch, count)


@MANY
@given(branches())
def test_tables_of_masks_count_right(branch: tuple[list[Row], list[int]]) -> None:
    with tiny():
        check(*branch, partial(count, compiled=False))


@lru_cache(maxsize=1)
def plain_loops() -> ModuleType:
    """The inner loops as they are where numba is not installed: plain Python."""
    spec = find_spec("service.domain.counting.inner_loops")
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(sys.modules, "numba", None)
        spec.loader.exec_module(module)
    return module


@SOME
@given(branches(most=40))
def test_the_walk_counts_right_uncompiled(branch: tuple[list[Row], list[int]]) -> None:
    with tiny(), pytest.MonkeyPatch.context() as patch:
        walk_once = combinations_compiled.count_kept_compiled
        patch.setattr(
            combinations_compiled,
            "count_kept_compiled",
            lambda bounds, tick, threads: walk_once(bounds, tick, 1, plain_loops().walk),
        )
        patch.setattr(combinations_compiled, "compiled_pairs", lambda: partial(plain_loops().pairs_at_most, 4))
        with np.errstate(over="ignore"):
            check(*branch, partial(count, compiled=True, threads=1))


@MANY
@given(branches())
def test_the_compiled_walk_counts_right(branch: tuple[list[Row], list[int]]) -> None:
    pytest.importorskip("numba", reason="the extra 'compiled' (numba) is not installed")
    with tiny():
        check(*branch, partial(count, compiled=True))


@SOME
@given(branches())
def test_a_combination_is_right_wrong_or_unknown(branch: tuple[list[Row], list[int]]) -> None:
    rows, sizes = branch
    counts = count([row.span() for row in rows], sizes)
    assert counts.right + counts.wrong + counts.unknown == counts.total
    for row in counts.rows:
        assert row.kept + row.broken + row.unknown + row.idle == counts.total
    for right, unknown in zip(counts.option_right, counts.option_unknown, strict=True):
        assert sum(right) == counts.right
        assert sum(unknown) == counts.unknown


@SOME
@given(branches())
def test_unknown_never_becomes_right(branch: tuple[list[Row], list[int]]) -> None:
    """Taking a figure away (an end of its interval) makes no combination right that was not."""
    rows, sizes = branch
    before = count([row.span() for row in rows], sizes)
    blurred = [replace(row, values=((*row.values[0][:-1], (None, None)), *row.values[1:])) for row in rows]
    after = count([row.span() for row in blurred], sizes)
    strict = not any(row.only_if_certain for row in rows)
    if strict:
        assert after.right <= before.right
    assert after.wrong <= before.wrong


@SOME
@given(branches())
def test_the_order_of_lists_does_not_matter(branch: tuple[list[Row], list[int]]) -> None:
    rows, sizes = branch
    turned = [replace(row, values=row.values[::-1], idle=None if row.idle is None else row.idle[::-1]) for row in rows]
    one = count([row.span() for row in rows], sizes)
    other = count([row.span() for row in turned], sizes[::-1])
    assert (one.right, one.unknown, one.rows) == (other.right, other.unknown, other.rows)
    assert one.option_right == other.option_right[::-1]
