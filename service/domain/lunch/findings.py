"""Judges totals against compiled targets: status, amount, satisfaction, and what to say of it.

Unknown is not zero: a minimum already reached is met, a maximum already passed is over, and whatever
else hangs on a missing or rounded value is ``unknown``, never ``met``.
"""

from collections.abc import Sequence
from functools import lru_cache
from typing import Literal, NamedTuple

from service.domain.foods.amounts import WHOLE_OF_CREDIT, Totals
from service.domain.lunch.standards import PERCENT, Target
from service.domain.measures import ENERGY, SCALE
from service.domain.messages import Message, message

Status = Literal["met", "short", "over", "unknown", "not_applicable"]

PLACES = {"kcal": 0, "g": 1, "cup": 3, "oz eq": 2, "% of energy": 1}
MOST_PLACES = 6
SMALL_UNITS = frozenset({"mg", "µg", "µg RAE"})
"""Units of amounts from hundredths (thiamin) to thousands (sodium): places go by size."""


class Judgement(NamedTuple):
    """One target judged: status, nominal amount in the target's unit, satisfaction 0 to 1.

    ``low``/``high``: the amount's interval where it is not exact (``high`` None: no end); both equal
    ``amount`` where it is.
    """

    target: Target
    status: Status
    amount: float
    satisfaction: float
    low: float
    high: float | None
    counts: bool
    """Whether it makes this lunch one to adjust: outside what one lunch by itself must keep."""


def row_interval(terms: Sequence[tuple[int, int]], totals: Totals) -> tuple[int | None, int | None]:
    """Lowest and highest value of a row (None: no end on that side).

    ``terms``: (measure index, weight); the ends are whole parts (``SCALE``) times weights. Source: interval arithmetic.

    >>> from service.domain.foods.amounts import Totals
    >>> row_interval([(0, 9), (1, -1)], Totals([10, 4], {1: 0}, {1: None}))  # the second is at least 0
    (None, 90)
    """
    low: int | None = 0
    high: int | None = 0
    inside = parts_inside(tuple(terms))
    for measure, weight in terms:
        least, most = totals.lowest(measure), totals.highest(measure)
        if most is None and measure in inside:
            low = None if low is None else low + weight * least
            high = None if high is None else high + weight * least
        elif weight > 0:
            low = None if low is None else low + weight * least
            high = None if high is None or most is None else high + weight * most
        else:
            low = None if low is None or most is None else low + weight * most
            high = None if high is None else high + weight * least
    return low, high


@lru_cache(maxsize=1024)
def parts_inside(terms: tuple[tuple[int, int], ...]) -> frozenset[int]:
    """The credits that a row subtracts from what they are a part of: what is not known of one cannot lower the row.

    Where a food's grains may all be dessert, they add nothing to "grains other than desserts", and take nothing away.

    >>> from service.domain.measures import MEASURE_INDEX
    >>> grain, dessert = MEASURE_INDEX["grain_oz_eq"], MEASURE_INDEX["grain_dessert_oz_eq"]
    >>> parts_inside(((grain, 1), (dessert, -1))) == {dessert}
    True
    """
    weights = dict(terms)
    return frozenset(
        part
        for part, whole in WHOLE_OF_CREDIT.items()
        if weights.get(part, 0) < 0 and weights.get(whole, 0) >= -weights[part]
    )


def judge(target: Target, totals: Totals) -> Judgement:
    """Judge one target; exact whole-number comparison.

    ``totals``: of one lunch, or of the days of a week where the target is one of ``weeks.week.scaled_to_days``.

    Source: ours (the bounds carry theirs).

    >>> from service.reference.lunch.standards import standard
    >>> from datetime import date
    >>> from service.domain.lunch.compiling import compile_targets
    >>> from service.domain.foods.amounts import add_up, item_vector
    >>> from service.reference.foods.catalogue import find_food
    >>> school = standard("us-school-lunch")
    >>> table = compile_targets(school, school.group("grades-k-5"), date(2025, 9, 1))
    >>> sodium = next(one for one in table.targets if one.id == "sodium")
    >>> lunch = add_up([item_vector(find_food("apple"), 182_000, None)])
    >>> found = judge(sodium, lunch)
    >>> (found.status, found.amount, found.high)
    ('met', 1.82, 1.82)
    """
    nominal = totals.nominal
    row = 0
    for measure, weight in target.terms:
        row += weight * nominal[measure]
    # Most rows hold no uncertain figure: these need no interval.
    exact = not totals.low or target.measures.isdisjoint(totals.low)
    if target.kind == "share_of_energy":
        amount = shown_amount(target, row, nominal)
        if nominal[ENERGY] == 0 and totals.highest(ENERGY) == 0:
            return Judgement(target, "not_applicable", 0.0, 1.0, 0.0, 0.0, False)
    else:
        amount = row / target.per_unit
    if exact:
        lowest, highest = target.lowest, target.highest
        if (lowest is None or row >= lowest) and (highest is None or row <= highest):
            return Judgement(target, "met", amount, 1.0, amount, amount, False)
        status = status_of(target, row, row)
        return Judgement(target, status, amount, satisfaction(target, amount), amount, amount, _counts(target, totals))
    low, high = row_interval(target.terms, totals)
    status = status_of(target, low, high)
    least, most = _amount_interval(target, totals)
    if status == "met":
        return Judgement(target, status, amount, 1.0, least, most, False)
    # What is known counts by itself; what the missing figures could change is told by `satisfactions`.
    if status == "unknown":
        kept = (target.lowest is None or row >= target.lowest) and (target.highest is None or row <= target.highest)
        return Judgement(
            target, status, amount, 1.0 if kept else satisfaction(target, amount), least, most, target.firm
        )
    return Judgement(target, status, amount, satisfaction(target, amount), least, most, _counts(target, totals))


def _counts(target: Target, totals: Totals) -> bool:
    """Whether a target that is not met lies outside its limit row for certain."""
    if target.firm:
        return True
    low, high = row_interval(target.limit.terms, totals)
    over = target.limit.high is not None and low is not None and low > target.limit.high
    short = target.limit.low is not None and high is not None and high < target.limit.low
    return over or short


def status_of(target: Target, low: int | None, high: int | None) -> Status:
    """Status of a row known to lie between ``low`` and ``high`` (None: no end on that side).

    Both ends inclusive, in the units of the compiled row.
    """
    # Over and short only where the whole interval lies outside; met only where all of it lies inside.
    met = True
    if target.highest is not None:
        if low is not None and low > target.highest:
            return "over"
        met = high is not None and high <= target.highest
    if target.lowest is not None:
        if high is not None and high < target.lowest:
            return "short"
        met = met and low is not None and low >= target.lowest
    return "met" if met else "unknown"


def shown_amount(target: Target, row: int, nominal: Sequence[int]) -> float:
    """The amount in the unit of the printed bound.

    ``row``: the value of the row; ``nominal``: whole parts by measure. A share of energy is in percent, 0
    without energy.
    """
    if target.kind != "share_of_energy":
        return row / target.per_unit
    energy = nominal[ENERGY]
    if energy == 0:
        return 0.0
    part = 0.0
    for measure, weight in target.shown_terms:
        part += weight * nominal[measure]
    return PERCENT * part / energy


def _amount_interval(target: Target, totals: Totals) -> tuple[float, float | None]:
    low = high = 0.0
    unbounded = without_least = False
    inside = parts_inside(target.terms)
    for measure, weight in target.shown_terms:
        least, most = totals.lowest(measure), totals.highest(measure)
        if most is None and measure in inside:
            most = least
        if weight > 0:
            low += weight * least
            unbounded = unbounded or most is None
            high += weight * (most or 0)
        else:
            low += weight * (most or 0)
            high += weight * least
            without_least = without_least or most is None
    if target.kind != "share_of_energy":
        return low / SCALE, None if unbounded else high / SCALE
    energy_low, energy_high = totals.lowest(ENERGY), totals.highest(ENERGY)
    # Milk whose saturated fat is not known may hold all that is known of the lunch's: then the share may be nil.
    least_share = 0.0 if without_least or not energy_high else PERCENT * low / energy_high
    most_share = None if unbounded or not energy_low else PERCENT * high / energy_low
    return least_share, most_share


def satisfaction(target: Target, amount: float) -> float:
    """How nearly a target is met: 1 at the bound, falling straight to 0 at the stated distance.

    ``amount``: in the target's unit, outside its bounds. Common practice, no source; the distance is in the standard's file.
    """
    bound = target.at_least if target.at_least is not None and amount <= target.at_least else target.at_most
    if bound is None:
        bound = target.at_least or 0.0
    reach = abs(bound) * target.distance_percent / PERCENT
    off = abs(amount - bound)
    if reach == 0.0:
        return 0.0
    return max(0.0, 1.0 - off / reach)


def satisfactions(judgement: Judgement) -> tuple[float, float]:
    """The least and the most that a target can be satisfied, whatever its missing figures are; equal where all are known.

    Satisfaction rises to the bounds and falls after them, so the least is at one end of the amount's interval.
    """
    target, found = judgement.target, judgement.satisfaction
    if judgement.status in ("met", "not_applicable") or judgement.low == judgement.high:
        return found, found
    ends = [_satisfied_at(target, judgement.low)]
    if judgement.high is not None:
        ends.append(_satisfied_at(target, judgement.high))
    else:
        ends.append(1.0 if target.at_most is None else 0.0)
    most = 1.0 if judgement.status == "unknown" else max(*ends, found)
    return min(*ends, found), most


def _satisfied_at(target: Target, amount: float) -> float:
    inside = (target.at_least is None or amount >= target.at_least) and (
        target.at_most is None or amount <= target.at_most
    )
    return 1.0 if inside else satisfaction(target, amount)


def rounded(amount: float, unit: str, against: float | None = None) -> float:
    """An amount with as many places as its size needs, and as many as tell it from a bound that it misses.

    >>> rounded(1.2345, "mg"), rounded(649.6, "kcal"), rounded(9.96, "% of energy", 10.0)
    (1.23, 650.0, 9.96)
    """
    places = PLACES.get(unit, 2)
    if unit in SMALL_UNITS:
        places = 0 if amount >= 100 else 1 if amount >= 10 else 2
    shown = round(amount, places)
    if against is not None and amount != against:
        # 650.04 kcal shown as 650 against "at most 650" would read as kept.
        while shown == against and places < MOST_PLACES:
            places += 1
            shown = round(amount, places)
    return shown


def number(amount: float, unit: str, against: float | None = None) -> str:
    """A rounded amount as text."""
    return bound_text(rounded(amount, unit, against))


def bound_text(bound: float) -> str:
    """A bound exactly as given."""
    return f"{bound:,.6f}".rstrip("0").rstrip(".")


@lru_cache(maxsize=2048)
def wanted(target: Target) -> Message:
    """What the target asks for: "550 to 650 kcal, on average over the week's lunches".

    Bounds are in the unit printed in the standard.
    """
    unit, basis, low, high = target.unit, target.basis, target.at_least, target.at_most
    if target.kind == "combination" and not (low or high):
        # one amount compared with another: the label says it, a bound of 0 would not
        return message("wanted.as-named", basis=basis)
    if low is not None and high is not None:
        return message("wanted.range", low=low, high=high, unit=unit, basis=basis)
    if low is not None and target.above:
        return message("wanted.more-than", low=low, unit=unit, basis=basis)
    if low is not None:
        return message("wanted.at-least", low=low, unit=unit, basis=basis)
    if target.below:
        return message("wanted.less-than", high=high, unit=unit, basis=basis)
    return message("wanted.at-most", high=high, unit=unit, basis=basis)


def met_message(target: Target, amount: float) -> Message:
    """Say that a target is met."""
    unit = target.unit
    return message("finding.met", label=target.label, amount=rounded(amount, unit), unit=unit, wanted=wanted(target))


def finding_message(
    judgement: Judgement,
    missing: Sequence[str] = (),
    label_rounds: Sequence[str] = (),
    more_reasons: Sequence[Message] = (),
) -> Message:
    """Say one judgement so that a parent understands it.

    ``missing``: names of the items with no figure; ``label_rounds``: names of the items whose label figure
    is a rounded one; ``more_reasons``: why else it is unknown.
    """
    target, status = judgement.target, judgement.status
    unit, label, asked = target.unit, target.label, wanted(target)
    if status in ("met", "over") and judgement.high is None:
        return _from_message(judgement)
    if status == "met":
        return met_message(target, judgement.amount)
    if status == "not_applicable":
        return message("finding.no-energy", label=label, wanted=asked)
    if status == "unknown":
        reasons = []
        if missing:
            reasons.append(message("finding.no-figure", names=list(missing)))
        if label_rounds:
            reasons.append(message("finding.rounded-figure", names=list(label_rounds)))
        reasons += more_reasons
        low = rounded(judgement.low, unit, target.at_least)
        if judgement.high is None:
            return message("finding.unknown-from", label=label, low=low, unit=unit, reasons=reasons, wanted=asked)
        high = rounded(judgement.high, unit, target.at_most)
        return message(
            "finding.unknown-range", label=label, low=low, high=high, unit=unit, reasons=reasons, wanted=asked
        )
    return off_message(target, status, *off_amounts(judgement))


def _from_message(judgement: Judgement) -> Message:
    """Say a target that is met or over for certain, although not all of the amount is known: it is so much or more."""
    target, unit = judgement.target, judgement.target.unit
    label, asked = target.label, wanted(target)
    if judgement.status == "met":
        low = rounded(judgement.low, unit, target.at_least)
        return message("finding.met-from", label=label, low=low, unit=unit, wanted=asked)
    low, gap = off_amounts(judgement._replace(amount=judgement.low))
    if gap == 0:
        return off_message(target, judgement.status, low, gap)
    return message("finding.over-from", label=label, low=low, gap=gap, unit=unit, wanted=asked)


def off_amounts(judgement: Judgement) -> tuple[float, float]:
    """Of a target that is missed for certain: the amount, and how far it is from the bound, both as they are shown."""
    target, unit = judgement.target, judgement.target.unit
    bound = target.at_least if judgement.status == "short" else target.at_most
    amount = rounded(judgement.amount, unit, bound)
    if bound is None:
        bound = target.at_least or 0.0
    return amount, rounded(abs(judgement.amount - bound), unit, 0.0)


def off_message(target: Target, status: Status, amount: float, gap: float) -> Message:
    """Say that a target is missed; amount and gap as ``off_amounts`` gives them."""
    unit, label, asked = target.unit, target.label, wanted(target)
    if gap == 0:
        if status == "short":
            return message("finding.at-the-bound-short", label=label, amount=amount, unit=unit, wanted=asked)
        return message("finding.at-the-bound-over", label=label, amount=amount, unit=unit, wanted=asked)
    if status == "short":
        return message("finding.short", label=label, amount=amount, gap=gap, unit=unit, wanted=asked)
    return message("finding.over", label=label, amount=amount, gap=gap, unit=unit, wanted=asked)
