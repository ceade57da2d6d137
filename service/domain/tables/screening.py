"""Allergens, choking forms and holding for the lunches of a table, each different case decided once.

Outcomes are those of ``domain.screening`` and ``domain.handling``; here they are only spread over the rows
and the worst of each lunch is kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from service.domain.allergens.screening import OUTCOME_RANK, Avoidance, Outcome, screen_food
from service.domain.allergens.vocabulary import AllergenVocabulary
from service.domain.foods.food import Food, Handling
from service.domain.lunch.handling import HandlingFinding, HandlingRules, choking_finding, holding_findings
from service.domain.tables.codes import Place, each_once, joint_codes
from service.domain.tables.fields import HELD, ItemFields, LunchFields

Codes = npt.NDArray[np.int8]
Flags = npt.NDArray[np.bool_]

OUTCOMES: tuple[Outcome, ...] = tuple(sorted(OUTCOME_RANK, key=OUTCOME_RANK.__getitem__))
"""An outcome in an array is its place here: its rank; -1 where nothing was screened."""
UNREAD_CODES = tuple(OUTCOMES.index(name) for name in ("check_label", "label_not_seen"))
SCREENED_KEPT = 200_000
MOST_HOLDING = 2
"""One finding on cold holding and one on hot holding, at the most."""


@lru_cache(maxsize=SCREENED_KEPT)
def screened(vocabulary: AllergenVocabulary, food: Food, avoidance: Avoidance) -> tuple[int, bool]:
    """Rank of the outcome of one food against one avoidance, and whether it must not be packed."""
    one = screen_food(vocabulary, food, avoidance)
    return OUTCOME_RANK[one.outcome], one.do_not_pack


@dataclass(frozen=True, slots=True, eq=False)
class ManyScreened:
    """Every item against every avoidance of its lunch.

    ``listed``: (groups, most) places in ``avoidances`` of each group of ``LunchFields.avoidances``, -1 for none.
    ``rank``, ``forbids``: (avoidances, foods). ``rows``: the rows for whose lunch anything is avoided.
    ``lunch``: those lunches; ``worst``: (those, most) rank of the outcome of each avoidance in its order, -1 for
    none. ``forbidden``: (n,) whether an item must not be packed; ``unread``: (n,) whether a label is still to be read.
    """

    avoidances: list[Avoidance]
    listed: Place
    rank: Codes
    forbids: Flags
    rows: Place
    lunch: Place
    worst: Codes
    forbidden: Flags
    unread: Flags

    def counts(self, avoidance: Place, food: Place) -> Flags:
        """Whether what a food holds of an avoidance keeps its lunch from being one to pack; (k,) places of both."""
        found: Flags = self.forbids[avoidance, food] | np.isin(self.rank[avoidance, food], UNREAD_CODES)
        return found


def screen_many(
    vocabulary: AllergenVocabulary, items: ItemFields, lunches: LunchFields, lunch_of_row: Place
) -> ManyScreened:
    """Hold every item against what its lunch must not hold."""
    every = list(dict.fromkeys(one for group in lunches.avoidances for one in group))
    number = {one: place for place, one in enumerate(every)}
    sizes = np.array([len(group) for group in lunches.avoidances], np.intp)
    most = int(sizes.max(initial=0))
    listed = np.full((len(sizes), most), -1, np.intp)
    for place, group in enumerate(lunches.avoidances):
        listed[place, : len(group)] = [number[one] for one in group]
    rank, forbids = _ranks(vocabulary, items.foods, every)

    concerned = sizes[lunches.avoided] > 0
    lunch, rows = np.flatnonzero(concerned), np.flatnonzero(concerned[lunch_of_row])
    first = np.flatnonzero(np.diff(lunch_of_row[rows], prepend=-1))
    food, group_of_row = items.food[rows], lunches.avoided[lunch_of_row[rows]]
    worst = np.full((len(lunch), most), -1, np.int8)
    forbidden, unread = np.zeros((2, len(lunches.avoided)), np.bool_)
    for position in range(most if len(rows) else 0):
        avoidance = listed[group_of_row, position]
        has = avoidance >= 0
        outcome = np.where(has, rank[avoidance, food], -1).astype(np.int8)
        worst[:, position] = np.maximum.reduceat(outcome, first)
        unread[lunch] |= np.logical_or.reduceat(np.isin(outcome, UNREAD_CODES), first)
        forbidden[lunch] |= np.logical_or.reduceat(has & forbids[avoidance, food], first)
    return ManyScreened(every, listed, rank, forbids, rows, lunch, worst, forbidden, unread)


def _ranks(vocabulary: AllergenVocabulary, foods: list[Food], avoidances: list[Avoidance]) -> tuple[Codes, Flags]:
    """(avoidances, foods): rank of each outcome, and whether it forbids."""
    found = [[screened(vocabulary, food, one) for food in foods] for one in avoidances]
    shape = (len(avoidances), len(foods))
    rank = np.array([[one[0] for one in row] for row in found], np.int8).reshape(shape)
    forbids = np.array([[one[1] for one in row] for row in found], np.bool_).reshape(shape)
    return rank, forbids


@dataclass(frozen=True, slots=True, eq=False)
class ManyHandled:
    """Findings on forms and holding: (k,) the lunch, the row of the item (-1: the lunch as a whole), the finding."""

    lunch: Place
    row: Place
    finding: Place
    findings: list[HandlingFinding]


def handle_many(
    rules: HandlingRules,
    regions: tuple[str, ...],
    items: ItemFields,
    lunches: LunchFields,
    lunch_of_row: Place,
    starts: Place,
) -> ManyHandled:
    """Choking forms item by item, then holding lunch by lunch."""
    row, choking, findings = _choking(rules, regions, items, lunches.months[lunch_of_row])
    lunch, holding, others = _holding(rules, regions, items, lunches, starts)
    return ManyHandled(
        np.concatenate([lunch_of_row[row], lunch]),
        np.concatenate([row, np.full(len(lunch), -1, np.intp)]),
        np.concatenate([choking, holding + len(findings)]),
        findings + others,
    )


@lru_cache(maxsize=1 << 15)
def choking(
    rules: HandlingRules, regions: tuple[str, ...], food: Food, form: str | None, age_months: int
) -> HandlingFinding | None:
    """What the choking rules say of a food in a form at an age."""
    return choking_finding(rules, food, form, age_months, regions)


def may_choke(handling: Handling) -> bool:
    """Whether a choking rule could speak of a food so handled."""
    return bool(handling.choking_rule or handling.pieces or not handling.choking_known)


def _choking(
    rules: HandlingRules, regions: tuple[str, ...], items: ItemFields, months: Place
) -> tuple[Place, Place, list[HandlingFinding]]:
    """Rows with a finding on their form, which finding it is, and the findings."""
    ruled = np.array([may_choke(food.handling) for food in items.foods], np.bool_)
    rows = np.flatnonzero(ruled[items.food])
    ages = sorted({limit.below_age_months for rule in rules.choking.values() for limit in rule.limits})
    youngest = [0, *ages]  # of each span of ages in which the same limits hold
    span = np.searchsorted(np.array(ages), months[rows], side="right")

    def finding(at: int) -> HandlingFinding | None:
        row = rows[at]
        form = items.forms[items.form[row]] if items.form[row] >= 0 else None
        return choking(rules, regions, items.foods[items.food[row]], form, youngest[span[at]])

    place, findings = each_once(finding, items.food[rows], items.form[rows], span)
    has = place >= 0
    return rows[has], place[has], findings


def _holding(
    rules: HandlingRules, regions: tuple[str, ...], items: ItemFields, lunches: LunchFields, starts: Place
) -> tuple[Place, Place, list[HandlingFinding]]:
    """Lunches with a finding on how they are kept, which finding it is, and the findings (of an example lunch)."""
    if not len(starts):
        return np.zeros(0, np.intp), np.zeros(0, np.intp), []
    spoils = np.array([food.handling.perishable is not False for food in items.foods], np.bool_)[items.food]
    hot = items.held == HELD.index("hot")
    ambient = spoils & (items.held == HELD.index("ambient"))
    traits = [np.logical_or.reduceat(trait, starts).astype(np.intp) for trait in (spoils & ~hot, ambient, hot)]
    which, example = joint_codes(lunches.kept, *traits)
    ends = np.append(starts[1:], len(items.food))
    findings: list[HandlingFinding] = []
    listed = np.full((len(example), MOST_HOLDING), -1, np.intp)
    for number, at in enumerate(example.tolist()):
        packed = [(items.foods[items.food[row]], HELD[items.held[row]]) for row in range(starts[at], ends[at])]
        found = holding_findings(rules, packed, lunches.holdings[lunches.kept[at]], regions)
        listed[number, : len(found)] = np.arange(len(findings), len(findings) + len(found))
        findings += found
    place = listed[which]
    has = place >= 0
    return np.nonzero(has)[0], place[has], findings
