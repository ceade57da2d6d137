"""From findings to one verdict and a score.

The verdict is the worst of: ``do_not_pack`` > ``check_label`` > ``adjust`` > ``pack``. A target whose
basis is a week's mean does not fail one lunch: it is shown as off the mean, and counts only where the
lunch lies so far off that satisfaction is nil. Nothing is ever called harmless.
"""

from collections.abc import Sequence
from typing import Literal

from service.domain.allergens.screening import Screened
from service.domain.lunch.findings import Judgement
from service.domain.lunch.handling import HandlingFinding
from service.domain.lunch.special_rules import RuleFinding

Verdict = Literal["do_not_pack", "check_label", "adjust", "pack"]


def off_the_mean(judgement: Judgement) -> bool:
    """Whether this judgement is off a week's mean without failing the lunch."""
    return judgement.status in ("short", "over", "unknown") and not judgement.counts


def verdict_of(
    judgements: Sequence[Judgement],
    rules: Sequence[RuleFinding],
    screened: Sequence[Screened],
    handling: Sequence[HandlingFinding],
) -> Verdict:
    """The worst of all findings.

    Source: ours. An adjustment never hides what must not be packed: the gravest comes first.

    >>> verdict_of([], [], [], [])
    'pack'
    """
    if any(one.do_not_pack for one in screened) or any(one.status == "do_not_pack" for one in handling):
        return "do_not_pack"
    if any(one.unread for one in screened):
        return "check_label"
    if any(one.counts for one in judgements):
        return "adjust"
    if any(one.status in ("over", "short", "unknown") for one in rules):
        return "adjust"
    if any(one.status in ("fix", "unknown") for one in handling):
        return "adjust"
    return "pack"


def score_of(judgements: Sequence[Judgement]) -> float:
    """Weighted mean of satisfactions, 0 to 100, one decimal; an unknown target satisfies nothing.

    Source: ours. What does not apply has no weight.
    """
    weight = earned = 0.0
    for judgement in judgements:
        if judgement.status != "not_applicable":
            weight += judgement.target.weight
            if judgement.status != "unknown":
                earned += judgement.target.weight * judgement.satisfaction
    return round(100 * earned / weight, 1) if weight else 0.0
