"""Judges many lunches that were made ready: everything they need comes with them, nothing is looked up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from service.domain.allergens.vocabulary import AllergenVocabulary
from service.domain.foods.crediting import CreditingScheme
from service.domain.foods.food import Food
from service.domain.lunch.handling import HandlingRules
from service.domain.lunch.judging_arrays import (
    MET,
    NOT_APPLICABLE,
    OVER,
    SHORT,
    STATUSES,
    UNKNOWN,
    ManyJudgements,
    judge_many,
    verdicts,
)
from service.domain.lunch.special_rules import RuleFinding, milk_findings, product_findings
from service.domain.lunch.standards import TargetTable
from service.domain.lunch.yardsticks import Yardstick
from service.domain.tables.codes import Floats, Place
from service.domain.tables.fields import ItemFields, LunchFields, measured, with_food_beside
from service.domain.tables.scoring import (
    MeasuredRows,
    SweetsFound,
    Wrong,
    core_of,
    find_sweets,
    is_sweet,
    judge_core,
    scores_of,
    taken_off,
)
from service.domain.tables.screening import ManyHandled, ManyScreened, handle_many, screen_many
from service.domain.tables.totals import ManyTotals, add_up_many


class TableToJudge(NamedTuple):
    """Lunches and all that their judgement needs.

    ``sizes``: (n,) how many rows each lunch has; they stand side by side. ``schemes``: the scale by which each of
    ``lunches.tables`` credits. ``regions``: whose guidance on handling is used.
    """

    lunches: LunchFields
    items: ItemFields
    sizes: Place
    schemes: Sequence[CreditingScheme | None]
    vocabulary: AllergenVocabulary
    handling: HandlingRules
    regions: tuple[str, ...]


class JudgedGroup(NamedTuple):
    """The lunches judged against one compiled table: which they are, their totals, and each target in its order."""

    table: TargetTable
    lunch: Place
    totals: ManyTotals
    targets: list[ManyJudgements]


class GroupBeside(NamedTuple):
    """The lunches that are shown beside the same yardsticks: which they are, and each row of each yardstick in order."""

    yardsticks: tuple[Yardstick, ...]
    lunch: Place
    targets: list[ManyJudgements]


class ManyRules(NamedTuple):
    """Findings of special rules: (k,) the lunch, the row of the item, and the place in ``findings``."""

    lunch: Place
    row: Place
    finding: Place
    findings: list[RuleFinding]

    def with_sweets(self, found: SweetsFound) -> ManyRules:
        """These and the findings on sweets."""
        places = np.arange(len(self.findings), len(self.findings) + len(found.findings))
        return ManyRules(
            np.concatenate([self.lunch, found.lunch]),
            np.concatenate([self.row, found.row]),
            np.concatenate([self.finding, places]),
            self.findings + found.findings,
        )


@dataclass(frozen=True, slots=True, eq=False)
class JudgedTable:
    """All that is found of ``n`` lunches.

    ``starts``, ``sizes``: (n,) first row and rows of each. ``score``: (n,) not a number for none; ``score_low``,
    ``score_high``: (n,) what it can be at least and at most. ``verdict``: (n,) places in ``judging_arrays.VERDICTS``.
    ``statuses``: (statuses, n) findings of targets and special rules by status. ``off_the_mean``: (n,) targets that are off
    a week's mean only.
    """

    lunches: LunchFields
    items: ItemFields
    starts: Place
    sizes: Place
    totals: ManyTotals
    groups: list[JudgedGroup]
    rules: ManyRules
    screened: ManyScreened
    handled: ManyHandled
    score: Floats
    score_low: Floats
    score_high: Floats
    verdict: Place
    statuses: Place
    off_the_mean: Place
    beside: list[GroupBeside]


def judge_table(asked: TableToJudge) -> JudgedTable:
    """Hold every lunch against its targets, what must be avoided, and the rules on forms and holding.

    The same answers as ``lunch.check.judge_lunch`` gives one by one. Raises nothing: whatever can be wrong was refused
    when the rows were resolved.
    """
    lunches, sizes = asked.lunches, asked.sizes
    starts = np.cumsum(sizes) - sizes
    lunch_of_row = np.repeat(np.arange(len(sizes)), sizes)
    items = with_food_beside(asked.items, lunch_of_row)
    rows = measured_rows(lunches, items, lunch_of_row, asked.schemes)
    totals = add_up_many(rows.arrays, rows.item, starts)
    groups = judge_groups(lunches, totals)
    screened = screen_many(asked.vocabulary, items, lunches, lunch_of_row)
    handled = handle_many(asked.handling, asked.regions, items, lunches, lunch_of_row, starts)
    score = np.zeros((3, len(sizes)))
    adjust = np.zeros(len(sizes), np.bool_)
    statuses = np.zeros((len(STATUSES), len(sizes)), np.intp)
    off_the_mean = np.zeros(len(sizes), np.intp)
    rules = _rules(lunches, items, lunch_of_row)
    kinds = np.array([STATUSES.index(one.status) for one in rules.findings], np.intp)
    to_fix, handled_unknown = (_with_status(handled, len(sizes), (status,)) for status in ("fix", "unknown"))
    of_rules = kinds[rules.finding]
    wrong = Wrong(rules.lunch[np.isin(of_rules, (SHORT, OVER))], to_fix)
    perhaps = Wrong(rules.lunch[of_rules == UNKNOWN], handled_unknown)
    core = core_of(rows)
    for table, chosen, _part, targets in groups:
        taken = taken_off(table.standard.points_off, rows, wrong, perhaps)
        of_core = judge_core(table, chosen, core)
        score[:, chosen] = scores_of(table, chosen, targets, taken, of_core)
        rules = rules.with_sweets(find_sweets(table, chosen, targets, of_core, items, rows))
        adjust[chosen] = np.logical_or.reduce([one.counts for one in targets])
        found = np.stack([one.status for one in targets])
        for status in range(len(STATUSES)):
            statuses[status, chosen] = (found == status).sum(axis=0)
        statuses[NOT_APPLICABLE, chosen] += len(table.left_out)
        off_the_mean[chosen] = sum(one.off_the_mean for one in targets)
    kinds = np.array([STATUSES.index(one.status) for one in rules.findings], np.intp)
    np.add.at(statuses, (kinds[rules.finding], rules.lunch), 1)
    adjust[rules.lunch[kinds[rules.finding] != MET]] = True
    verdict, (score, score_low, score_high) = _verdicts(adjust, screened, handled, score)
    return JudgedTable(
        lunches,
        items,
        starts,
        sizes,
        totals,
        groups,
        rules,
        screened,
        handled,
        score,
        score_low,
        score_high,
        verdict,
        statuses,
        off_the_mean,
        judge_beside(lunches, totals),
    )


def judge_groups(lunches: LunchFields, totals: ManyTotals) -> list[JudgedGroup]:
    """Judge the lunches of each compiled table against its targets."""
    groups = []
    for place, table in enumerate(lunches.tables):
        chosen = np.flatnonzero(lunches.table == place)
        if len(chosen):
            part = totals if len(chosen) == len(totals) else totals.subset(chosen)
            groups.append(JudgedGroup(table, chosen, part, [judge_many(target, part) for target in table.targets]))
    return groups


def judge_beside(lunches: LunchFields, totals: ManyTotals) -> list[GroupBeside]:
    """Judge the lunches that name yardsticks against the rows of these; nothing of the answer hangs on it."""
    groups = []
    for place, several in enumerate(lunches.yardsticks):
        chosen = np.flatnonzero(lunches.beside == place)
        if several and len(chosen):
            part = totals if len(chosen) == len(totals) else totals.subset(chosen)
            tables = [one.table for one in several if one.table is not None]
            judged = [judge_many(target, part) for table in tables for target in table.targets]
            groups.append(GroupBeside(several, chosen, judged))
    return groups


def measured_rows(
    lunches: LunchFields, items: ItemFields, lunch_of_row: Place, schemes: Sequence[CreditingScheme | None]
) -> MeasuredRows:
    """The measures of every row's item, each lunch credited by the scale of its table."""
    different = list(dict.fromkeys(schemes))
    of_table = np.array([different.index(scheme) for scheme in schemes], np.intp)
    arrays, item = measured(items, of_table[lunches.table][lunch_of_row], different)
    return MeasuredRows(arrays, item, lunch_of_row, is_sweet(items))


@lru_cache(maxsize=20_000)
def rules_of(table: TargetTable, food: Food) -> tuple[RuleFinding, ...]:
    """What the special rules of a table say of one food, whatever its amount."""
    found = product_findings(table.product_rules, [food]) + milk_findings(table.milk_rules, [food])
    return tuple(found)


def _rules(lunches: LunchFields, items: ItemFields, lunch_of_row: Place) -> ManyRules:
    """Every finding of a special rule, by row and then by rule."""
    findings: list[RuleFinding] = []
    of_kind = [place for place, food in enumerate(items.foods) if food.product_kind]
    said = [[rules_of(table, items.foods[place]) for place in of_kind] for table in lunches.tables]
    most = max((len(found) for row in said for found in row), default=0)
    listed = np.full((len(lunches.tables), len(items.foods), most), -1, np.intp)
    for table, row in enumerate(said):
        for place, found in zip(of_kind, row, strict=True):
            listed[table, place, : len(found)] = np.arange(len(findings), len(findings) + len(found))
            findings.extend(found)
    kind = np.zeros(len(items.foods), np.bool_)
    kind[of_kind] = True
    rows = np.flatnonzero(kind[items.food])
    table_of_row = lunches.table[lunch_of_row[rows]]
    finding = listed[table_of_row, items.food[rows]]
    has = finding >= 0
    rows = np.repeat(rows, has.sum(axis=1))
    return ManyRules(lunch_of_row[rows], rows, finding[has], findings)


def _with_status(handled: ManyHandled, lunches: int, wanted: tuple[str, ...]) -> npt.NDArray[np.bool_]:
    """The lunches with a finding of such a status on a form or on how something is kept."""
    statuses = np.array([one.status for one in handled.findings], np.str_)[handled.finding]
    found = np.zeros(lunches, np.bool_)
    found[handled.lunch[np.isin(statuses, wanted)]] = True
    return found


def _verdicts(
    adjust: npt.NDArray[np.bool_], screened: ManyScreened, handled: ManyHandled, score: Floats
) -> tuple[Place, Floats]:
    """The verdict of every lunch, and the scores without those of lunches that must not be packed."""
    lunches = len(adjust)
    adjust = adjust | _with_status(handled, lunches, ("fix", "unknown"))
    forbidden = screened.forbidden | _with_status(handled, lunches, ("do_not_pack",))
    return verdicts(forbidden, screened.unread, adjust), np.where(forbidden, np.nan, score)
