"""What the foods of a week hold, break and need, each finding once with its days.

A finding of one lunch is that of the single check: allergens by ``allergens.screening``, products by
``lunch.special_rules``, forms and holding by ``lunch.check``.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import NamedTuple

from service.domain.allergens.screening import OUTCOME_RANK, Avoidance, Screened, screen_food
from service.domain.allergens.vocabulary import AllergenVocabulary
from service.domain.foods.food import Food
from service.domain.lunch.check import PreparedItem, handling_findings
from service.domain.lunch.handling import HandlingFinding, HandlingRules, Holding
from service.domain.lunch.special_rules import RuleFinding, milk_findings, product_findings
from service.domain.lunch.standards import TargetTable


class PackedDay(NamedTuple):
    """What a child had on a day. ``foods``: of the items, and the menu of a bought lunch.

    ``avoidances``: what had to be kept away that day. ``holding``: how the lunch was kept; None for one that was not packed.
    ``edited``: by its id each own food that was edited after it was packed, as it is now, with its packet of that day.
    """

    on: date
    items: Sequence[PreparedItem]
    foods: Sequence[Food]
    avoidances: Sequence[Avoidance]
    holding: Holding | None
    edited: Mapping[str, Food]


class PackedWeek(NamedTuple):
    """The days of a week and all that judging their foods needs.

    ``table``: None for a standard without rules on products. ``age_months``: of the child; ``regions``: whose guidance on
    handling is used.
    """

    days: Sequence[PackedDay]
    vocabulary: AllergenVocabulary
    table: TargetTable | None
    handling: HandlingRules
    age_months: int
    regions: tuple[str, ...]


class ScreenedOnDays(NamedTuple):
    """What a food holds of an avoidance, and the days on which the child had it."""

    food: Food
    screened: Screened
    days: list[date]


class RuleOnDays(NamedTuple):
    """A finding of a rule on products or milk, and its days."""

    finding: RuleFinding
    days: list[date]


class HandledOnDays(NamedTuple):
    """A finding on form or holding, and its days."""

    finding: HandlingFinding
    days: list[date]


def screened_foods(week: PackedWeek) -> list[ScreenedOnDays]:
    """Every food against every avoidance of its day, the most serious first.

    Where an own food is worse as it is now than as it was when it was packed, what it is now counts.
    """
    found: dict[tuple[str, str, Avoidance], list[ScreenedOnDays]] = {}
    for day in week.days:
        for food in day.foods:
            for avoidance in day.avoidances:
                screened = screen_food(week.vocabulary, food, avoidance)
                if food.id in day.edited:
                    now = screen_food(week.vocabulary, day.edited[food.id], avoidance)
                    if OUTCOME_RANK[now.outcome] > OUTCOME_RANK[screened.outcome]:
                        screened = now
                alike = found.setdefault((food.id, food.name, avoidance), [])
                same = next((one for one in alike if _same(one.screened, screened)), None)
                if same is None:
                    same = ScreenedOnDays(food, screened, [])
                    alike.append(same)
                _note(same.days, day.on)
    return sorted((one for alike in found.values() for one in alike), key=_most_serious_first)


def _same(one: Screened, other: Screened) -> bool:
    return (one.outcome, one.found, one.do_not_pack, *_known(one)) == (
        other.outcome,
        other.found,
        other.do_not_pack,
        *_known(other),
    )


def _known(one: Screened) -> tuple[object, ...]:
    return one.evidence.level, one.evidence.basis, one.evidence.evidence


def _most_serious_first(one: ScreenedOnDays) -> tuple[bool, int, str, str]:
    screened = one.screened
    return not screened.do_not_pack, -OUTCOME_RANK[screened.outcome], one.food.name, screened.avoidance.allergen


def product_rules(week: PackedWeek) -> list[RuleOnDays]:
    """The rules on single products and kinds of milk, by rule and item."""
    if week.table is None:
        return []
    found: list[RuleOnDays] = []
    for day in week.days:
        foods = [item.food for item in day.items]
        for finding in product_findings(week.table.product_rules, foods) + milk_findings(week.table.milk_rules, foods):
            same = next((one for one in found if _alike(one.finding, finding)), None)
            if same is None:
                same = RuleOnDays(finding, [])
                found.append(same)
            _note(same.days, day.on)
    return sorted(found, key=lambda one: (one.finding.id, one.finding.item))


def _alike(one: RuleFinding, other: RuleFinding) -> bool:
    return (one.id, one.item, one.said) == (other.id, other.item, other.said)


def handling(week: PackedWeek) -> list[HandledOnDays]:
    """Choking forms and holding of the packed lunches that are not in order."""
    found: list[HandledOnDays] = []
    for day in week.days:
        if day.holding is None:
            continue
        for finding in handling_findings(week.handling, day.items, day.holding, week.age_months, week.regions):
            if finding.status == "in_order":
                continue
            same = next((one for one in found if one.finding.said == finding.said), None)
            if same is None:
                same = HandledOnDays(finding, [])
                found.append(same)
            _note(same.days, day.on)
    return found


def _note(days: list[date], on: date) -> None:
    if on not in days:
        days.append(on)
