"""An estimate of the share of right lunches from a sample, where an offer has too many to count."""

from typing import Any

from service.domain.counting.estimate import estimate
from service.domain.offers.offer import Branch
from service.domain.offers.rows import OfferItems
from service.jobs.offers.counts import Tick
from service.jobs.offers.layout import ChildOffer
from service.jobs.offers.requests import SampleSize

CONFIDENCE = 0.95


def estimated(
    asked: SampleSize, laid: ChildOffer, parts: list[Branch], of: OfferItems, tick: Tick | None
) -> dict[str, Any]:
    """The share of right lunches in a uniform sample with its 95 % confidence interval (`combinations_estimate`)."""
    found = estimate([of.spans(laid.table, branch) for branch in parts], asked.lunches, asked.seed, tick)
    note = (
        f"An estimate, not a count: of {found.drawn:,} lunches drawn at random, {found.right_share:.1%} keep every rule "
        f"(95 % confidence: {found.low:.1%} to {found.high:.1%})."
    )
    return {
        "note": note,
        "sampled": found.drawn,
        "right_share": found.right_share,
        "low": found.low,
        "high": found.high,
        "confidence": CONFIDENCE,
    }
