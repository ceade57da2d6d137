"""What a generic food counts as in US school meals, by its group, name and household measure.

The rules are estimates, read from reference_data/crediting/generic-foods.toml; a food that fits none stays unknown.
"""

import re
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from pydantic import Field

from service.domain.errors import ReferenceFault
from service.domain.foods.crediting import credits_from_grams_per_unit
from service.domain.foods.food import CreditOption
from service.domain.foods.generic import BASIS_MG, GenericFood
from service.reference.files import DataStatus, FileModel, data_path, read_toml
from service.reference.foods.components import components

WHERE = "crediting/generic-foods.toml"
CUPS = {"cup": 1, "fl oz": 8, "tbsp": 16}
"""Household measures that make a cup, and how many of each do (US customary units)."""


OF_NONE = re.compile(r"\b(?:skinless|boneless)\b")
"""Words that say that something is not so: "boneless" is no bone."""


class GenericCreditRule(FileModel):
    """One rule: the foods it is for, and the amount that makes one cup or ounce equivalent."""

    id: str
    title: str
    groups: list[str] = Field(min_length=1)
    starts: list[str] = []
    words: list[str] = []
    without: list[str] = []
    component: str = ""
    grams_per_unit: Decimal | None = Field(None, gt=0)
    per_cup: Decimal | None = Field(None, gt=0)
    cup_grams: Decimal | None = Field(None, gt=0)
    note: str = ""

    def fits(self, food: GenericFood) -> bool:
        """Whether the rule speaks of a food."""
        name = food.name.lower()
        plain = OF_NONE.sub("", name)
        return (
            food.group in self.groups
            and (not self.starts or name.startswith(tuple(start.lower() for start in self.starts)))
            and (not self.words or any(word in name for word in self.words))
            and not any(word in plain for word in self.without)
        )


class GenericCreditFile(FileModel):
    """All rules, in the order in which they are tried."""

    id: str
    source: str
    status: DataStatus
    rule: list[GenericCreditRule] = Field(min_length=1)


class EstimatedCredits(NamedTuple):
    """The ways a food credits (none: it counts as nothing), and the rule that says so."""

    options: tuple[CreditOption, ...]
    rule: str


@lru_cache(maxsize=1)
def generic_credit_rules() -> Mapping[str, GenericCreditRule]:
    """Rule id -> rule; ``ReferenceFault`` for one that says its amount in no way or in two."""
    rules: dict[str, GenericCreditRule] = {}
    for rule in read_toml(data_path(WHERE), GenericCreditFile).rule:
        ways = (rule.grams_per_unit is not None) + (rule.per_cup is not None)
        by_cup = (rule.per_cup is None) == (rule.cup_grams is None)
        if (
            rule.id in rules
            or ways != bool(rule.component)
            or not by_cup
            or (rule.component and rule.component not in components())
        ):
            raise ReferenceFault(
                pointer=f"reference_data/{WHERE}#/{rule.id}",
                value=rule.component,
                problem="appears twice, names a component that is not known, or does not give one amount for it",
                remedy="Give each rule an id of its own; with a component, one of grams_per_unit, and per_cup with cup_grams.",
            )
        rules[rule.id] = rule
    return rules


def estimated_credits(food: GenericFood) -> EstimatedCredits | None:
    """What a generic food counts as; None where no rule speaks of it.

    Source: the rules' file.

    >>> from service.reference.foods.generic_foods import generic_foods
    >>> estimated_credits(generic_foods().get("sr28-11531")).rule  # canned tomatoes
    'red and orange vegetables, by the cup'
    """
    rule = next((rule for rule in generic_credit_rules().values() if rule.fits(food)), None)
    if rule is None:
        return None
    if not rule.component:
        return EstimatedCredits((), rule.title)
    grams_mg = grams_per_unit_mg(rule, heaviest_cup_mg(food))
    if grams_mg is None:
        return None
    credits = credits_from_grams_per_unit(components()[rule.component], grams_mg, BASIS_MG)
    return EstimatedCredits((CreditOption(rule.component, credits),), rule.title)


def grams_per_unit_mg(rule: GenericCreditRule, cup_mg: Fraction | None) -> int | None:
    """Milligrams that make one cup or ounce equivalent by a rule, ``cup_mg`` being a cup of the food; None for a rule
    without a component."""
    if rule.grams_per_unit is not None:
        return int(rule.grams_per_unit * 1000)
    if cup_mg is None and rule.cup_grams is not None:
        cup_mg = Fraction(rule.cup_grams) * 1000
    if rule.per_cup is None or cup_mg is None:
        return None
    return round(cup_mg / Fraction(rule.per_cup))


def heaviest_cup_mg(food: GenericFood) -> Fraction | None:
    """What a cup of a food weighs by the heaviest of its household measures, in milligrams."""
    cups = [
        Fraction(measure.grams_mg) / measure.amount * times
        for measure in food.household_measures
        for words, times in CUPS.items()
        if measure.words == words or measure.words.startswith((words + ",", words + " "))
    ]
    return max(cups, default=None)
