"""Judges totals against compiled targets: status, amount, satisfaction, and a plain sentence.

Unknown is not zero: a minimum already reached is met, a maximum already passed is over, and whatever
else hangs on a missing or rounded value is ``unknown``, never ``met``.
"""

from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import Literal, NamedTuple

from service.domain.foods.amounts import Totals
from service.domain.lunch.standards import ENERGY, PERCENT, Target
from service.domain.measures import SCALE

Status = Literal["met", "short", "over", "unknown", "not_applicable"]

PLACES = {"kcal": 0, "g": 1, "cup": 3, "oz eq": 2, "% of energy": 1}
MOST_PLACES = 6
_FORMATS = tuple(f"{{:,.{places}f}}".format for places in range(MOST_PLACES + 1))
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

    >>> from service.domain.foods.amounts import Totals
    >>> row_interval([(0, 9), (1, -1)], Totals([10, 4], {1: 0}, {1: None}))  # the second is at least 0
    (None, 90)
    """
    low: int | None = 0
    high: int | None = 0
    for measure, weight in terms:
        least, most = totals.lowest(measure), totals.highest(measure)
        if weight > 0:
            low = None if low is None else low + weight * least
            high = None if high is None or most is None else high + weight * most
        else:
            low = None if low is None or most is None else low + weight * most
            high = None if high is None else high + weight * least
    return low, high


def judge(target: Target, totals: Totals) -> Judgement:
    """Judge one target; exact whole-number comparison."""
    nominal = totals.nominal
    row = 0
    for measure, weight in target.terms:
        row += weight * nominal[measure]
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
    if status == "unknown":
        return Judgement(target, status, amount, 0.0, least, most, target.firm)
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
    """Status of a row known to lie between ``low`` and ``high`` (None: no end on that side)."""
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
    """The amount in the unit of the printed bound."""
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
    unbounded = False
    for measure, weight in target.shown_terms:
        least, most = totals.lowest(measure), totals.highest(measure)
        if weight > 0:
            low += weight * least
            unbounded = unbounded or most is None
            high += weight * (most or 0)
        else:
            low += weight * (most or 0)
            high += weight * least
    if target.kind != "share_of_energy":
        return low / SCALE, None if unbounded else high / SCALE
    energy_low, energy_high = totals.lowest(ENERGY), totals.highest(ENERGY)
    least_share = 0.0 if not energy_high else PERCENT * low / energy_high
    most_share = None if unbounded or not energy_low else PERCENT * high / energy_low
    return least_share, most_share


def satisfaction(target: Target, amount: float) -> float:
    """How nearly a target is met: 1 at the bound, falling straight to 0 at the stated distance."""
    bound = target.at_least if target.at_least is not None and amount <= target.at_least else target.at_most
    if bound is None:
        bound = target.at_least or 0.0
    reach = abs(bound) * target.distance_percent / PERCENT
    off = abs(amount - bound)
    if reach == 0.0:
        return 0.0
    return max(0.0, 1.0 - off / reach)


def number(amount: float, unit: str, against: float | None = None) -> str:
    """An amount as text, with as many places as its size needs and as many as tell it from a bound."""
    places = PLACES.get(unit, 2)
    if unit in SMALL_UNITS:
        places = 0 if amount >= 100 else 1 if amount >= 10 else 2
    text = _FORMATS[places](amount)
    if against is not None and amount != against:
        while float(text.replace(",", "")) == against and places < MOST_PLACES:
            places += 1
            text = _FORMATS[places](amount)
    return text.rstrip("0").rstrip(".") if places else text


def _small(amount: float) -> str:
    """An amount in a unit whose places go by size."""
    if amount >= 100:
        return _FORMATS[0](amount)
    return _FORMATS[1 if amount >= 10 else 2](amount).rstrip("0").rstrip(".")


def bound_text(bound: float) -> str:
    """A bound exactly as given."""
    return f"{bound:,.6f}".rstrip("0").rstrip(".")


BASIS_WORDS = {
    "lunch": "in each lunch",
    "school_day": "each school day",
    "week_mean": "as the mean of a week's lunches",
    "week_total": "over the week",
}


@lru_cache(maxsize=2048)
def wanted(target: Target) -> str:
    """What the target asks for, in words: "550 to 650 kcal, as the mean of a week's lunches"."""
    unit = target.unit
    low = None if target.at_least is None else bound_text(target.at_least)
    high = None if target.at_most is None else bound_text(target.at_most)
    if low is not None and high is not None:
        bounds = f"{low} to {high} {unit}"
    elif low is not None:
        bounds = f"{'more than' if target.above else 'at least'} {low} {unit}"
    else:
        bounds = f"{'less than' if target.below else 'at most'} {high} {unit}"
    if target.kind == "combination" and not (target.at_least or target.at_most):
        bounds = "as named"  # one amount held against another: the label says it, a bound of 0 would not
    return f"{bounds}, {BASIS_WORDS[target.basis]}"


@lru_cache(maxsize=2048)
def _words(target: Target) -> tuple[str, str]:
    """The label at the start of a sentence, and what is wanted."""
    return target.label[:1].upper() + target.label[1:], wanted(target)


@lru_cache(maxsize=2048)
def _met_words(target: Target) -> tuple[str, Callable[[float], str], bool, str]:
    """The sentence of a target that is met: what comes before the amount, how it is written, what comes after."""
    label, asked = _words(target)
    places = PLACES.get(target.unit, 0 if target.unit in SMALL_UNITS else 2)
    write = _small if target.unit in SMALL_UNITS else _FORMATS[places]
    return f"{label}: ", write, places > 0, f" {target.unit}. Wanted: {asked}."


def met_sentence(target: Target, amount: float) -> str:
    """Say that a target is met; the commonest sentence, so it is not put together anew each time."""
    before, write, strip, after = _met_words(target)
    text = write(amount)
    if strip:
        text = text.rstrip("0").rstrip(".")
    return f"{before}{text}{after}"


def sentence(judgement: Judgement, missing: Sequence[str] = (), rounded: Sequence[str] = ()) -> str:
    """Say one judgement so that a parent understands it.

    ``missing``: names of the items with no figure; ``rounded``: names of the items whose label figure
    is a rounded one.
    """
    target = judgement.target
    unit = target.unit
    if judgement.status == "met":
        return met_sentence(target, judgement.amount)
    label, asked = _words(target)
    if judgement.status == "not_applicable":
        return f"{label}: this lunch has no energy, so no share of it. Wanted: {asked}."
    if judgement.status == "unknown":
        reasons = []
        if missing:
            reasons.append(f"there is no figure for {'; '.join(missing)}")
        if rounded:
            reasons.append(f"the label of {'; '.join(rounded)} rounds its figure")
        known = f"{number(judgement.low, unit)} {unit} at least"
        if judgement.high is not None:
            known = f"between {number(judgement.low, unit)} and {number(judgement.high, unit)} {unit}"
        return f"{label}: {known}; nobody can tell, because {' and '.join(reasons)}. Wanted: {asked}."
    bound = target.at_least if judgement.status == "short" else target.at_most
    amount = number(judgement.amount, unit, bound)
    if bound is None:
        bound = target.at_least or 0.0
    gap = number(abs(judgement.amount - bound), unit, 0.0)
    much = "little" if judgement.status == "short" else "much"
    if gap == "0":
        return f"{label}: {amount} {unit}, just not {'more' if much == 'little' else 'less'}. Wanted: {asked}."
    return f"{label}: {amount} {unit}, {gap} {unit} too {much}. Wanted: {asked}."
