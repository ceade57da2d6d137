"""The parts of a lunch check's reply as plain dictionaries (published shape: service/api/lunch/replies.py)."""

from functools import lru_cache
from typing import Any

from service.domain.allergens.screening import Screened
from service.domain.cautions import status_cautions
from service.domain.foods.amounts import Totals
from service.domain.foods.food import Food
from service.domain.lunch.findings import Judgement, met_sentence, sentence
from service.domain.lunch.handling import HandlingFinding
from service.domain.lunch.special_rules import RuleFinding
from service.domain.lunch.standards import Target, TargetTable
from service.domain.lunch.verdict import off_the_mean
from service.domain.measures import MEASURES, NUTRIENT_COUNT, SCALE
from service.jobs.lunch.items import PreparedItem
from service.jobs.requests import Child
from service.reference.allergens.vocabulary import vocabulary

Reply = dict[str, Any]


def summary(
    verdict: str,
    judgements: list[Judgement],
    rules: list[RuleFinding],
    screened: list[tuple[PreparedItem, Screened]],
    handling: list[HandlingFinding],
) -> str:
    """The one sentence a parent reads first."""
    words = vocabulary()
    if verdict == "do_not_pack":
        reasons = [
            f"{item.food.name} {'may contain' if one.outcome == 'may_contain' else 'contains'} {words.allergens[one.found].name}"
            for item, one in screened
            if one.do_not_pack
        ]
        reasons += [f"{one.items[0]}: {one.brief}" for one in handling if one.status == "do_not_pack"]
        return "Do not pack this lunch: " + "; ".join(dict.fromkeys(reasons)) + "."
    if verdict == "check_label":
        open_ones: dict[str, list[str]] = {}
        for item, one in screened:
            if one.outcome == "check_label":
                open_ones.setdefault(words.allergens[one.avoidance.allergen].name, []).append(item.food.name)
        parts = [f"{allergen} in {'; '.join(dict.fromkeys(names))}" for allergen, names in open_ones.items()]
        return "Read the labels before packing. It is not known whether there is " + ", or ".join(parts) + "."
    off = [_short_word(one) for one in judgements if one.counts]
    off += [f"{one.item}: {one.label}" for one in rules if one.status in ("over", "short", "unknown")]
    off += [one.brief for one in handling if one.status in ("fix", "unknown")]
    mean = [_short_word(one) for one in judgements if one.status != "met" and off_the_mean(one)]
    tail = f" Off the week's mean, to even out on other days: {'; '.join(mean)}." if mean else ""
    if verdict == "adjust":
        return "Change something: " + "; ".join(off) + "." + tail
    return "This lunch keeps every rule checked for one lunch." + tail


def _short_word(judgement: Judgement) -> str:
    label = judgement.target.label
    if judgement.status == "unknown":
        return f"cannot tell about {label}"
    return f"too {'little' if judgement.status == 'short' else 'much'} {label}"


@lru_cache(maxsize=2048)
def _fixed_part(target: Target) -> Reply:
    """What of a finding does not depend on the lunch, with room for what does: copied, not built, for each lunch."""
    return {
        "id": target.id,
        "kind": "target",
        "label": target.label,
        "at_least": target.at_least,
        "at_most": target.at_most,
        "exclusive": target.above or target.below,
        "unit": target.unit,
        "basis": target.basis,
        "firm": target.firm,
        "source": target.source,
        "source_status": target.status,
        "status": None,
        "amount": None,
        "amount_low": None,
        "amount_high": None,
        "counts": None,
        "sentence": None,
    }


def finding_row(judgement: Judgement, items: list[PreparedItem]) -> Reply:
    """One judged target."""
    target, status, amount, _satisfaction, low, high, counts = judgement
    if status == "unknown":
        missing, rounded = _widened_items(target, items)
        words = sentence(judgement, missing, rounded)
    elif status == "met":
        words = met_sentence(target, amount)
    else:
        words = sentence(judgement)
    shown = round(amount, 3)
    row = _fixed_part(target).copy()
    row["status"] = status
    row["amount"] = shown
    if low == high:
        row["amount_low"] = row["amount_high"] = shown
    else:
        row["amount_low"] = round(low, 3)
        row["amount_high"] = None if high is None else round(high, 3)
    row["counts"] = counts
    row["sentence"] = words
    return row


def _widened_items(target: Target, items: list[PreparedItem]) -> tuple[list[str], list[str]]:
    measures = target.measures
    missing: list[str] = []
    rounded: list[str] = []
    for item in items:
        for measure, _low, _high in item.vector.widened:
            if measure in measures:
                (rounded if measure in item.food.ranges else missing).append(item.food.name)
    names = list(dict.fromkeys(missing))
    return names, [name for name in dict.fromkeys(rounded) if name not in names]


def rule_row(rule: RuleFinding) -> Reply:
    return {
        "id": rule.id,
        "kind": "product_rule",
        "label": rule.label,
        "at_least": None,
        "at_most": rule.at_most,
        "exclusive": False,
        "unit": rule.unit,
        "basis": "product",
        "firm": True,
        "source": rule.source,
        "source_status": rule.source_status,
        "status": rule.status,
        "amount": None if rule.amount is None else round(rule.amount, 3),
        "amount_low": None if rule.amount is None else round(rule.amount, 3),
        "amount_high": None if rule.amount is None else round(rule.amount, 3),
        "counts": rule.status in ("over", "short", "unknown"),
        "sentence": rule.sentence,
    }


@lru_cache(maxsize=256)
def standard_row(table: TargetTable) -> Reply:
    known = table.standard
    return {
        "id": known.id,
        "title": known.title,
        "citation": known.citation,
        "about": known.about,
        "historical": known.historical,
        "age_group": table.age_group.id,
        "age_group_title": table.age_group.title,
        "on": table.on.isoformat(),
    }


_SHOWN_MEASURES = tuple((one.id, one.unit) for one in MEASURES)
_SHOWN_NUTRIENTS = _SHOWN_MEASURES[:NUTRIENT_COUNT]


def totals_rows(totals: Totals, with_credits: bool) -> Reply:
    """The sums by measure; credits only for a standard that has them."""
    shown: Reply = {}
    measures = _SHOWN_MEASURES if with_credits else _SHOWN_NUTRIENTS
    for (measure, unit), whole in zip(measures, totals.nominal, strict=False):
        amount = whole / SCALE
        shown[measure] = {"amount": amount, "low": amount, "high": amount, "unit": unit, "complete": True}
    for index, low in totals.low.items():
        if index < len(measures):
            most = totals.high[index]
            row = shown[measures[index][0]]
            row["low"] = low / SCALE
            row["high"] = None if most is None else most / SCALE
            row["complete"] = False
    return shown


def screened_row(food: Food, one: Screened) -> Reply:
    """One food against one avoided allergen; remembered for foods of the reference tables."""
    return _screened_row(food, one) if food.kind == "label" else _remembered_row(food, one)


def _screened_row(food: Food, one: Screened) -> Reply:
    return {
        "food": food.id,
        "name": food.name,
        "allergen": one.avoidance.allergen,
        "avoided_by": one.avoidance.by,
        "threshold": one.avoidance.threshold,
        "outcome": one.outcome,
        "found": one.found,
        "level": one.evidence.level,
        "basis": one.evidence.basis,
        "evidence": one.evidence.evidence,
        "do_not_pack": one.do_not_pack,
    }


_remembered_row = lru_cache(maxsize=8192)(_screened_row)


def handling_row(one: HandlingFinding) -> Reply:
    return {
        "id": one.id,
        "status": one.status,
        "items": list(one.items),
        "brief": one.brief,
        "sentence": one.sentence,
        "source": one.source,
        "source_status": one.source_status,
    }


def energy_need_row(child: Child) -> Reply | None:
    """The child's own need beside the age group's range; None unless everything is given."""
    months = child.months()
    if child.sex is None or child.height_cm is None or child.weight_kg is None or child.activity is None:
        return None
    if months is None:
        return None
    from service.domain.lunch.energy_need import energy_need
    from service.reference.lunch.energy import lunch_share, need_equations

    need = energy_need(
        need_equations(),
        lunch_share(),
        sex=child.sex,
        age_months=months,
        height_cm=child.height_cm,
        weight_kg=child.weight_kg,
        activity=child.activity,
    )
    return {
        "day_kcal": need.day_kcal,
        "lunch_percent": need.lunch_percent,
        "lunch_kcal": need.lunch_kcal,
        "source": need.source,
        "source_status": need.status,
        "share_source": need.share_source,
        "share_status": need.share_status,
        "sentence": (
            f"By equation this child needs about {round(need.day_kcal, -1):.0f} kcal a day; {need.lunch_percent:g} % of it, "
            f"about {round(need.lunch_kcal, -1):.0f} kcal, would be a lunch's share. It stands beside the age group's range, "
            "and says nothing of one child's growth: ask the child's clinician."
        ),
    }


@lru_cache(maxsize=256)
def table_cautions(table: TargetTable) -> tuple[str, ...]:
    known = table.standard
    told = []
    if known.historical:
        told.append(f"{known.title} is an archived guideline: a yardstick of its time, in force for nobody.")
    if known.checked_until is not None and table.on > known.checked_until:
        told.append(
            f"The rows of {known.id} were checked for days up to {known.checked_until.isoformat()}; "
            "a change made since may be missing."
        )
    return tuple(told)


@lru_cache(maxsize=256)
def measures_used(table: TargetTable) -> frozenset[int]:
    """The measures that the targets of a table look at."""
    return frozenset(measure for target in table.targets for measure in target.measures)


@lru_cache(maxsize=256)
def _from_memory(table: TargetTable) -> tuple[str, ...]:
    """The labels of the targets whose figures are from memory."""
    return tuple(target.label for target in table.targets if target.status == "memory")


def lunch_cautions(
    table: TargetTable,
    rules: list[RuleFinding],
    handling: list[HandlingFinding],
    items: list[PreparedItem],
) -> list[str]:
    """What to say of this lunch's figures: which are from memory, which estimated, whether editions meet."""
    memory = list(_from_memory(table))
    memory += [one.label for one in rules if one.source_status == "memory"]
    memory += [one.id for one in handling if one.source_status == "memory"]
    guessed = {measure for item in items for measure in item.food.estimated}
    estimated: list[str] = []
    if guessed:
        estimated = [MEASURES[measure].label for measure in sorted(guessed & measures_used(table))]
    cautions = status_cautions(list(dict.fromkeys(memory)), estimated)
    editions = {edition for item in items for edition in item.food.editions}
    if len(editions) > 1:
        cautions.append("Figures come from more than one food table: " + ", ".join(sorted(editions)) + ".")
    return cautions
