"""An estimate of the share of right lunches from a sample, where an offer has too many to count."""

from typing import Any

import numpy as np

from service.domain.combinations_masks import Tick
from service.domain.offer_rows import OfferItems
from service.domain.offers import Branch
from service.jobs.offer_counts import joint_spans, sizes_of
from service.jobs.offer_layout import ChildOffer
from service.jobs.offer_requests import OfferAuditRequest

CONFIDENCE = 0.95
Z = 1.959963984540054
"""Quantile of the normal distribution for 95 %."""
BLOCK = 20_000


def estimated(
    asked: OfferAuditRequest, laid: ChildOffer, parts: list[Branch], of: OfferItems, tick: Tick | None
) -> dict[str, Any]:
    """The share of right lunches in a uniform sample with its 95 % confidence interval (Wilson).

    Every lunch is as likely to be drawn as any other: first a branch by its size, then an option of each list.
    """
    assert asked.estimate is not None  # noqa: S101 - only called with one
    wanted = asked.estimate.lunches
    draw = np.random.default_rng(asked.estimate.seed)
    total = sum(branch.size for branch in parts)
    each = draw.multinomial(wanted, [branch.size / total for branch in parts])
    right = 0
    for branch, count in zip(parts, each.tolist(), strict=True):
        spans = joint_spans(laid.table, branch, of)
        idle = of.without_energy(branch)
        sizes = sizes_of(branch)
        for start in range(0, count, BLOCK):
            if tick is not None:
                tick()
            block = min(BLOCK, count - start)
            drawn = [draw.integers(0, size, block) for size in sizes]
            keeps = np.ones(block, dtype=np.bool_)
            for span in spans:
                low = sum(part[chosen] for part, chosen in zip(span.low, drawn, strict=True))
                high = sum(part[chosen] for part, chosen in zip(span.high, drawn, strict=True))
                if span.only_if_certain:
                    low, high = high, low
                ok = np.ones(block, dtype=np.bool_)
                if span.at_least is not None:
                    ok &= low >= span.at_least
                if span.at_most is not None:
                    ok &= high <= span.at_most
                if span.idle is not None:
                    at_rest = np.ones(block, dtype=np.bool_)
                    for part, chosen in zip(idle, drawn, strict=True):
                        at_rest &= part[chosen]
                    ok |= at_rest
                keeps &= ok
            right += int(keeps.sum())
    low_end, high_end = wilson(right, wanted)
    return {
        "note": (
            f"An estimate, not a count: of {wanted:,} lunches drawn at random, {right / wanted:.1%} keep every rule "
            f"(95 % confidence: {low_end:.1%} to {high_end:.1%})."
        ),
        "sampled": wanted,
        "right_share": right / wanted,
        "low": low_end,
        "high": high_end,
        "confidence": CONFIDENCE,
    }


def wilson(hits: int, n: int) -> tuple[float, float]:
    """The Wilson score interval of a share (Wilson 1927) at 95 %."""
    share = hits / n
    middle = share + Z * Z / (2 * n)
    reach = Z * ((share * (1 - share) + Z * Z / (4 * n)) / n) ** 0.5
    below = 1 + Z * Z / n
    low = 0.0 if hits == 0 else max(0.0, (middle - reach) / below)
    high = 1.0 if hits == n else min(1.0, (middle + reach) / below)
    return low, high
