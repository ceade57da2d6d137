"""The few rules that are no linear row: a limit on one product, the kinds of milk allowed.

They stand next to the target table and give findings of the same kind. Their figures stand in the
standard's file.
"""

from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from service.domain.foods.amounts import figure_of
from service.domain.foods.food import Food
from service.domain.lunch.findings import Judgement, Status, number, rounded
from service.domain.lunch.standards import EnergyRule, MilkRule, ProductRule, Target, TargetTable
from service.domain.measures import MEASURE_INDEX, MEASURES
from service.domain.messages import Message, Value, message

MILK_KINDS = ("milk_whole", "milk_2_percent", "milk_1_percent", "milk_skim", "flavoured_milk")
"""Kinds of fluid milk as foods and rules name them, fattest first: the order in which a sentence lists them.

Names, not figures: which of them an age group may be served is in the standard's file.
"""


class RuleFinding(NamedTuple):
    """What a special rule says of one item; the limit in the unit shown, if it has one."""

    id: str
    label: str
    status: Status
    item: str
    amount: float | None
    at_most: float | None
    unit: str
    said: Message
    source: str
    source_status: str
    place: int = 0
    """Place of the item among the foods looked at."""
    at_least: float | None = None


def product_findings(rules: Sequence[ProductRule], foods: Sequence[Food]) -> list[RuleFinding]:
    """Hold each product of a lunch against the limits for its kind.

    Exact: ``value * per_grams <= at_most * basis`` in fractions.

    ``foods``: one for each item, in the order of the lunch. Source: beside each rule (US: 7 CFR 210.10).
    """
    found: list[RuleFinding] = []
    for rule in rules:
        measure = MEASURE_INDEX[rule.measure]
        label, of_measure, per_grams = MEASURES[measure].label, MEASURES[measure].unit, float(rule.per_grams)
        unit = f"{of_measure} per {number(per_grams, 'g')} g"
        limit = float(rule.at_most)
        for place, food in enumerate(foods):
            if food.product_kind not in rule.applies_to:
                continue
            value = food.nutrients[measure]
            known, least, most = figure_of(food, measure)
            allowed = Fraction(rule.at_most) * food.basis_mg
            per = Fraction(rule.per_grams)
            over = least * per > allowed
            if value is None and not over:
                said = message("product-rule.no-figure", item=food.name, measure=label)
                found.append(_product(rule, "unknown", food, None, limit, unit, said, place))
                continue
            amount = float(known * per / food.basis_mg)
            values: dict[str, Value] = {
                "item": food.name,
                "amount": rounded(amount, "g", limit),
                "unit": of_measure,
                "measure": label,
                "per_grams": rounded(per_grams, "g"),
                "limit": limit,
            }
            status: Status = "unknown"
            said = message("product-rule.rounded-figure", **values)
            if over:
                status, said = "over", message("product-rule.over", **values)
            elif most is not None and most * per <= allowed:
                status, said = "met", message("product-rule.met", **values)
            found.append(_product(rule, status, food, amount, limit, unit, said, place))
    return found


def _product(
    rule: ProductRule,
    status: Status,
    food: Food,
    amount: float | None,
    limit: float,
    unit: str,
    said: Message,
    place: int,
) -> RuleFinding:
    return RuleFinding(
        rule.id, rule.label, status, food.name, amount, limit, unit, said, rule.source, rule.status, place
    )


def milk_findings(rules: Sequence[MilkRule], foods: Sequence[Food]) -> list[RuleFinding]:
    """Report each fluid milk of a kind that the age group may not be served.

    Source: beside each rule (US: 7 CFR 210.10).
    """
    found: list[RuleFinding] = []
    for rule in rules:
        for place, food in enumerate(foods):
            if food.product_kind not in MILK_KINDS:
                continue
            allowed = food.product_kind in rule.allowed
            kinds = [kind for kind in MILK_KINDS if kind in rule.allowed]
            said = message("milk-rule.not-allowed", item=food.name, kinds=kinds)
            if allowed:
                said = message("milk-rule.allowed", item=food.name, kinds=kinds)
            found.append(
                RuleFinding(
                    rule.id,
                    rule.label,
                    "met" if allowed else "over",
                    food.name,
                    None,
                    None,
                    "",
                    said,
                    rule.source,
                    rule.status,
                    place,
                )
            )
    return found


@lru_cache(maxsize=4096)
def broken_rules(table: TargetTable, food: Food) -> tuple[str, ...]:
    """The ids of a table's rules on single products and on milk that a food breaks for certain."""
    found = product_findings(table.product_rules, [food]) + milk_findings(table.milk_rules, [food])
    return tuple(one.id for one in found if one.status in ("over", "short"))


def sweets_findings(
    rule: EnergyRule | None, whole: Sequence[Judgement], core: Sequence[Judgement], item: str, place: int
) -> list[RuleFinding]:
    """What keeps a minimum of energy only with its sweets and snacks, and falls far short of it without them.

    ``whole``, ``core``: each target judged on the lunch, and without these; ``item``, ``place``: that with most energy of
    them. Source: ours, status proposed.
    """
    return [
        sweets_finding(rule, one.target, one.amount, item, place)
        for with_them, one in zip(whole, core, strict=True)
        if rule is not None
        and one.target.is_energy_minimum
        and (one.counts and one.status == "short")
        and not (with_them.counts and with_them.status == "short")
    ]


def sweets_finding(rule: EnergyRule, target: Target, amount: float, item: str, place: int) -> RuleFinding:
    """The finding on one minimum of energy; ``amount``: the energy without sweets and snacks."""
    unit = target.unit
    shown = rounded(amount, unit, target.at_least)
    said = message("product-rule.without-sweets", item=item, amount=shown, unit=unit, limit=target.at_least or 0.0)
    return RuleFinding(
        rule.id, rule.label, "short", item, amount, None, unit, said, rule.source, rule.status, place, target.at_least
    )
