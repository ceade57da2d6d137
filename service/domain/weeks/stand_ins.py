"""Rows of a week in which some food groups may stand in for another: a group that is short is not counted as short twice.

The US pattern asks for "other vegetables" and lets more of the dark-green, red and orange or legume subgroups stand in for
them. As one row that is the sum of all four against the sum of their minima, which a week without any dark-green vegetables
misses, though it has all the other vegetables that are asked for. What is more than a group's own minimum may stand in;
what is less takes nothing away. So the row is kept if it is kept with any of the groups left out of the sum.
"""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import combinations

from service.domain.lunch.compiling import inclusive
from service.domain.lunch.standards import LimitRow, Target
from service.domain.measures import SCALE


def in_other_ways(target: Target, rows: Sequence[Target]) -> list[Target]:
    """The ways beside the row itself in which a minimum over several groups is kept: with fewer of the stand-ins.

    ``rows``: all amounts of the week, of the same number of days. Empty unless every group of the row but one has a
    minimum of its own. Source: 7 CFR 210.10(c)(2)(ii)(E): other vegetables may be met with additional amounts of the
    other subgroups.
    """
    weights = {weight for _measure, weight in target.terms}
    if target.low is None or len(target.terms) < 2 or len(weights) != 1:
        return []
    (weight,) = weights
    own = {
        one.terms[0][0]: Fraction(one.low, one.terms[0][1])
        for one in rows
        if one is not target and len(one.terms) == 1 and one.low
    }
    stand_ins = [measure for measure, _weight in target.terms if measure in own]
    if weight <= 0 or len(stand_ins) != len(target.terms) - 1:
        return []
    found = []
    for count in range(len(stand_ins) - 1, -1, -1):
        for some in combinations(stand_ins, count):
            gone = sum((own[one] for one in stand_ins if one not in some), Fraction(0))
            low = target.low - gone * weight
            if low > 0 and low.denominator == 1:
                found.append(_with_terms(target, {*stand_ins} - {*some}, int(low)))
    return found


def _with_terms(target: Target, without: set[int], low: int) -> Target:
    terms = tuple(term for term in target.terms if term[0] not in without)
    lowest, highest = inclusive(low, target.high, above=target.above, below=target.below)
    return replace(
        target,
        terms=terms,
        measures=frozenset(measure for measure, _weight in terms),
        shown_terms=tuple(term for term in target.shown_terms if term[0] not in without),
        low=low,
        lowest=lowest,
        highest=highest,
        limit=LimitRow(terms, lowest, highest),
        at_least=low / (terms[0][1] * SCALE),
    )
