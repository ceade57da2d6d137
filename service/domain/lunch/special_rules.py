"""The few rules that are no linear row: a limit on one product, the kinds of milk allowed.

They stand beside the target table and give findings of the same kind. Their figures stand in the
standard's file.
"""

from collections.abc import Sequence
from typing import NamedTuple

from service.domain.foods.food import Food
from service.domain.lunch.findings import Status, number
from service.domain.lunch.standards import MilkRule, ProductRule
from service.domain.measures import MEASURE_INDEX, MEASURES

MILK_KINDS = {
    "milk_whole": "whole",
    "milk_2_percent": "2 %",
    "milk_1_percent": "1 %",
    "milk_skim": "fat-free",
    "flavoured_milk": "flavoured",
}
"""Kinds of fluid milk as foods and rules name them, and how one says it."""


class RuleFinding(NamedTuple):
    """What a special rule says of one item; the limit in the unit shown, if it has one."""

    id: str
    label: str
    status: Status
    item: str
    amount: float | None
    at_most: float | None
    unit: str
    sentence: str
    source: str
    source_status: str
    place: int = 0
    """Place of the item among the foods looked at."""


def product_findings(rules: Sequence[ProductRule], foods: Sequence[Food]) -> list[RuleFinding]:
    """Hold each product of a lunch against the limits for its kind.

    Exact: ``value * per_grams <= at_most * basis`` in whole numbers and decimals.
    """
    found: list[RuleFinding] = []
    for rule in rules:
        measure = MEASURE_INDEX[rule.measure]
        unit = f"{MEASURES[measure].unit} per {number(float(rule.per_grams), 'g')} g"
        limit = float(rule.at_most)
        for place, food in enumerate(foods):
            if food.product_kind not in rule.applies_to:
                continue
            value = food.nutrients[measure]
            if value is None:
                words = f"{food.name}: no figure for {MEASURES[measure].label}; read it from the label."
                found.append(_product(rule, "unknown", food, None, limit, unit, words, place))
                continue
            least, most = food.ranges.get(measure, (value, value))
            allowed = rule.at_most * food.basis_mg
            status: Status = "unknown"
            if most * rule.per_grams <= allowed:
                status = "met"
            elif least * rule.per_grams > allowed:
                status = "over"
            amount = float(value * rule.per_grams / food.basis_mg)
            words = (
                f"{food.name}: {number(amount, 'g', limit)} {unit} of {MEASURES[measure].label}; "
                f"the limit is {number(limit, 'g')}."
            )
            if status == "unknown":
                words += " The label rounds its figure, so nobody can tell."
            found.append(_product(rule, status, food, amount, limit, unit, words, place))
    return found


def _product(
    rule: ProductRule, status: Status, food: Food, amount: float | None, limit: float, unit: str, words: str, place: int
) -> RuleFinding:
    return RuleFinding(
        rule.id, rule.label, status, food.name, amount, limit, unit, words, rule.source, rule.status, place
    )


def milk_findings(rules: Sequence[MilkRule], foods: Sequence[Food]) -> list[RuleFinding]:
    """Tell each fluid milk of a kind that the age group may not be served."""
    found: list[RuleFinding] = []
    for rule in rules:
        for place, food in enumerate(foods):
            if food.product_kind not in MILK_KINDS:
                continue
            allowed = food.product_kind in rule.allowed
            kinds = ", ".join(MILK_KINDS[kind] for kind in MILK_KINDS if kind in rule.allowed)
            words = f"{food.name}: {'one of' if allowed else 'not one of'} the kinds of milk for this age ({kinds})."
            found.append(
                RuleFinding(
                    rule.id,
                    rule.label,
                    "met" if allowed else "over",
                    food.name,
                    None,
                    None,
                    "",
                    words,
                    rule.source,
                    rule.status,
                    place,
                )
            )
    return found
