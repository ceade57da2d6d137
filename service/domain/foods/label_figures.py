"""A food from its printed label: what the rounded figures may stand for.

Rounding rules: 21 CFR 101.9(c), in reference_data/label_rounding.toml. A printed figure stands for an
interval; the engine uses the interval wherever it could change a finding.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from itertools import zip_longest

from service.domain.measures import THOUSANDTHS


@dataclass(frozen=True, slots=True)
class RoundingBand:
    """Within a band, amounts are printed to the nearest ``step``.

    ``from_amount`` is the first amount of the band; amounts below ``zero_below`` may (or must) be
    printed as 0. All in the measure's unit.
    """

    from_amount: Decimal
    step: Decimal


@dataclass(frozen=True, slots=True)
class RoundingRule:
    """How one declared amount is rounded on a label."""

    measure: str
    zero_below: Decimal
    bands: tuple[RoundingBand, ...]
    source: str
    status: str


def printed(rule: RoundingRule, amount: Decimal) -> Decimal:
    """The figure a label prints for a true amount (ties go up).

    What may no longer be printed as 0 is printed as one step at the least: cholesterol from 2 to 5 mg is
    "less than 5 mg", entered as 5.

    ``amount``: in the measure's unit, 0 or more. Source: 21 CFR 101.9(c).

    >>> from service.reference.foods.label_rounding import rounding_rules
    >>> printed(rounding_rules()["energy_kcal"], Decimal("47.6"))
    Decimal('50.0')
    >>> printed(rounding_rules()["sodium_mg"], Decimal(143))
    Decimal('140.0')
    """
    if amount < rule.zero_below:
        return Decimal(0)
    band = [b for b in rule.bands if amount >= b.from_amount][-1]
    figure = (amount / band.step).quantize(Decimal(1), ROUND_HALF_UP) * band.step
    return max(figure, rule.bands[0].step)


def stands_for(rule: RoundingRule, figure: Decimal) -> tuple[int, int]:
    """The interval of true amounts that a printed figure may stand for, whole thousandths.

    A figure at a band's edge may come from either side: 50 kcal from 47.5 (steps of 5) up to 55 (steps of 10). A printed
    0 stands for anything below ``zero_below``.

    ``figure``: as printed, in the measure's unit. Source: the steps are those of 21 CFR 101.9(c); reading them backwards is ours.

    >>> from service.reference.foods.label_rounding import rounding_rules
    >>> stands_for(rounding_rules()["fat_g"], Decimal(3))  # printed 3 g: 2.75 to 3.25 g
    (2750, 3250)
    >>> stands_for(rounding_rules()["fat_g"], Decimal(0))  # a printed 0 is anything below 0.5 g
    (0, 500)
    """
    if figure <= 0:
        return 0, int(rule.zero_below * THOUSANDTHS)
    lowest = highest = figure
    ends = [band.from_amount for band in rule.bands[1:]]
    for band, end in zip_longest(rule.bands, ends):
        # Within a band only the amounts of that band are printed with its step.
        low, high = max(figure - band.step / 2, band.from_amount), figure + band.step / 2
        high = high if end is None else min(high, end)
        if low <= figure <= high:
            lowest, highest = min(lowest, low), max(highest, high)
    if figure <= rule.bands[0].step:
        lowest = min(lowest, rule.zero_below)
    lowest = max(lowest, Decimal(0))
    return int(lowest * THOUSANDTHS), int((highest * THOUSANDTHS).to_integral_value(rounding="ROUND_CEILING"))


def intervals(rules: Mapping[str, RoundingRule], facts: Mapping[str, Decimal]) -> dict[str, tuple[int, int]]:
    """The interval of every printed figure that has a rounding rule.

    Keys of both: measure ids. What has no rule is left out, so its figure counts as exact.
    """
    return {measure: stands_for(rules[measure], figure) for measure, figure in facts.items() if measure in rules}
