"""From findings to one verdict and a score.

The verdict is the worst of: ``do_not_pack`` > ``check_label`` > ``adjust`` > ``pack``. A target whose
basis is a week's mean does not fail one lunch: it is shown as off the mean, and counts only where the
lunch lies so far off that satisfaction is nil. Nothing is ever called harmless.
"""

from collections.abc import Sequence
from typing import Literal

from service.domain.allergens.screening import Screened
from service.domain.lunch.findings import Judgement, satisfactions
from service.domain.lunch.handling import HandlingFinding
from service.domain.lunch.points_off import NOTHING_OFF, OffScore
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


def score_of(judgements: Sequence[Judgement], off: OffScore = NOTHING_OFF) -> float:
    """Weighted mean of satisfactions less what is taken off, 0 to 100, one decimal.

    ``judgements``: on the lunch without its sweets and snacks, which ``off`` accounts for. What does not apply has no
    weight; a target that is unknown is satisfied as by what is known of it: neither nil nor full. Source: ours.
    """
    weight = earned = 0.0
    for one in judgements:
        if one.status != "not_applicable":
            weight += one.target.weight
            earned += one.target.weight * one.satisfaction
    return _of_100(earned, weight, off.known)


def score_range(judgements: Sequence[Judgement], off: OffScore = NOTHING_OFF) -> tuple[float, float]:
    """The lowest and highest that the score can be, whatever is not known; one decimal each.

    Source: ours. Both equal the score where everything is known.
    """
    weight = least_earned = most_earned = 0.0
    for one in judgements:
        if one.status != "not_applicable":
            least, most = satisfactions(one)
            weight += one.target.weight
            least_earned += one.target.weight * least
            most_earned += one.target.weight * most
    lowest = 0.0 if off.most is None else _of_100(least_earned, weight, off.most)
    return lowest, _of_100(most_earned, weight, off.least)


def _of_100(earned: float, weight: float, off: float) -> float:
    return round(max(0.0, 100 * earned / weight - off), 1) if weight else 0.0
