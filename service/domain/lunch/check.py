"""Judges one lunch that was made ready: everything it needs comes with it, nothing is looked up."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from service.domain.allergens.screening import Avoidance, Screened, screen_food
from service.domain.allergens.vocabulary import AllergenVocabulary
from service.domain.foods.amounts import ItemVector, Totals, add_up
from service.domain.foods.food import CreditOption, Food
from service.domain.lunch.findings import Judgement, judge
from service.domain.lunch.handling import (
    HandlingFinding,
    HandlingRules,
    Held,
    Holding,
    choking_finding,
    holding_findings,
)
from service.domain.lunch.points_off import off_score, scored_vector, taken_by_products, taken_by_sweets
from service.domain.lunch.special_rules import RuleFinding, milk_findings, product_findings, sweets_findings
from service.domain.lunch.standards import TargetTable
from service.domain.lunch.verdict import Verdict, score_of, score_range, verdict_of
from service.domain.lunch.yardsticks import BesideYardstick, Yardstick, lunch_beside
from service.domain.measures import ENERGY


@dataclass(frozen=True, slots=True, eq=False)
class PreparedItem:
    """One item made ready. ``order``: what items are sorted by, so that the order they came in does not matter."""

    food: Food
    amount_mg: int
    quantity: float
    unit: str
    option: CreditOption | None
    form: str | None
    held: Held
    vector: ItemVector
    order: tuple[str, str, int, str, str, str]


class LunchToJudge(NamedTuple):
    """One lunch with all that its judgement needs.

    ``avoidances``: what the child and the setting avoid. ``regions``: whose guidance on handling is used.
    ``yardsticks``: what the lunch is shown beside; they change nothing else.
    """

    table: TargetTable
    items: Sequence[PreparedItem]
    avoidances: Sequence[Avoidance]
    vocabulary: AllergenVocabulary
    handling: HandlingRules
    holding: Holding
    age_months: int
    regions: tuple[str, ...]
    yardsticks: tuple[Yardstick, ...] = ()


class LunchJudgement(NamedTuple):
    """What was found of a lunch. ``screened``: places in its items, and what each holds of each avoidance.

    ``score``: None for a lunch that must not be packed; ``score_range``: what it can be at least and at most.
    """

    verdict: Verdict
    score: float | None
    score_range: tuple[float, float] | None
    findings: list[Judgement]
    rules: list[RuleFinding]
    screened: list[tuple[int, Screened]]
    handling: list[HandlingFinding]
    totals: Totals
    beside: list[BesideYardstick[Judgement]]


def judge_lunch(lunch: LunchToJudge) -> LunchJudgement:
    """Hold a lunch against its targets, what must be avoided, and the rules on forms and holding.

    Raises nothing: whatever can be wrong was refused when the lunch was resolved. Source: ours; figures carry theirs.
    """
    table, items = lunch.table, lunch.items
    totals = add_up([item.vector for item in items])
    findings = [judge(target, totals) for target in table.targets]
    foods = [item.food for item in items]
    rules = product_findings(table.product_rules, foods) + milk_findings(table.milk_rules, foods)
    screened = [
        (place, screen_food(lunch.vocabulary, food, avoidance))
        for place, food in enumerate(foods)
        for avoidance in lunch.avoidances
    ]
    handling = handling_findings(lunch.handling, items, lunch.holding, lunch.age_months, lunch.regions)
    core = _without_sweets(table, items, findings)
    sweets = _sweets(table, items, findings, core)
    verdict = verdict_of(findings, rules + sweets, [one for _place, one in screened], handling)
    score, ends = (None, None) if verdict == "do_not_pack" else _scored(table, items, core, rules, handling)
    beside = lunch_beside(lunch.yardsticks, totals)
    return LunchJudgement(verdict, score, ends, findings, rules + sweets, screened, handling, totals, beside)


def _without_sweets(
    table: TargetTable, items: Sequence[PreparedItem], findings: Sequence[Judgement]
) -> Sequence[Judgement]:
    """Each target judged on the lunch without its sweets and snacks; the same findings where it has none."""
    if not any(item.food.discretionary for item in items):
        return findings
    core = add_up([scored_vector(item.food, item.vector) for item in items])
    return [judge(target, core) for target in table.targets]


def _sweets(
    table: TargetTable, items: Sequence[PreparedItem], findings: Sequence[Judgement], core: Sequence[Judgement]
) -> list[RuleFinding]:
    """What the lunch keeps only with its sweets and snacks."""
    if core is findings:
        return []
    sweet = [place for place, item in enumerate(items) if item.food.discretionary]
    most = max(sweet, key=lambda place: items[place].vector.nominal[ENERGY])
    return sweets_findings(table.standard.points_off.energy_rule, findings, core, items[most].food.name, most)


def _scored(
    table: TargetTable,
    items: Sequence[PreparedItem],
    core: Sequence[Judgement],
    rules: Sequence[RuleFinding],
    handling: Sequence[HandlingFinding],
) -> tuple[float, tuple[float, float]]:
    """The score of a lunch and its range, from its targets judged without sweets and snacks."""
    points = table.standard.points_off
    sweets = [item for item in items if item.food.discretionary]
    broken = sum(one.status in ("over", "short") for one in rules)
    taken = [taken_by_sweets(points, item.food, item.vector) for item in sweets]
    taken.append(taken_by_products(points, broken, broken + sum(one.status == "unknown" for one in rules)))
    statuses = {one.status for one in handling}
    # Only what is over, or may be, can be far over.
    over = [one for one in core if one.status in ("over", "unknown")]
    amounts = [(one.target, one.amount, one.low, one.high) for one in over]
    off = off_score(points, amounts, taken, ("fix" in statuses, "unknown" in statuses))
    score = score_of(core, off)
    all_known = off.least == off.known == off.most and all(one.low == one.high for one in core)
    return score, (score, score) if all_known else score_range(core, off)


def handling_findings(
    rules: HandlingRules, items: Sequence[PreparedItem], kept: Holding, age_months: int, regions: tuple[str, ...]
) -> list[HandlingFinding]:
    """Choking forms first, then holding; each with the places of its items.

    ``age_months``: of the child; ``regions``: e.g. ``("US", "GB")``, the stricter counts.
    """
    found = []
    for place, item in enumerate(items):
        finding = choking_finding(rules, item.food, item.form, age_months, regions)
        if finding is not None:
            found.append(finding._replace(places=(place,)))
    return found + holding_findings(rules, [(item.food, item.held) for item in items], kept, regions)
