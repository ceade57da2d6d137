"""The parts of a lunch check's reply as plain dictionaries (published shape: service/api/lunch/replies.py)."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from functools import lru_cache
from typing import Any

from service.domain.cautions import CAUTIONS
from service.domain.foods.amounts import Totals
from service.domain.lunch.age_groups import AgeGroup
from service.domain.lunch.check import LunchJudgement, LunchToJudge, PreparedItem
from service.domain.lunch.energy_need import EnergyNeed
from service.domain.lunch.findings import (
    Judgement,
    Status,
    finding_message,
    met_message,
    off_amounts,
    off_message,
    rounded,
    wanted,
)
from service.domain.lunch.handling import HandlingFinding
from service.domain.lunch.special_rules import RuleFinding
from service.domain.lunch.standards import Standard, SubstituteRule, Target, TargetTable
from service.domain.measures import CREDIT_IDS, MEASURE_INDEX, MEASURES, NUTRIENT_COUNT, SCALE
from service.domain.messages import Message, Value, message
from service.jobs.allergens.reply import screened_row
from service.jobs.lunch.cautions import lunch_cautions, table_cautions
from service.jobs.lunch.resolve import SentItem
from service.jobs.lunch.summary import summary
from service.jobs.lunch.yardsticks import yardstick_row
from service.reference.messages import json_of, kept_by_language, listed_as, spoken, worded, worded_as
from service.reference.weeks.frequencies import FrequencyStandard

Reply = dict[str, Any]


def lunch_reply(
    lunch: LunchToJudge, judged: LunchJudgement, sent: Sequence[SentItem], more: Sequence[Message] = ()
) -> Reply:
    """The judgement of a lunch as the reply; changes and energy need are left empty.

    ``sent``: of each item; ``more``: cautions besides those that follow from the lunch.
    """
    items = lunch.items
    return {
        "verdict": judged.verdict,
        "score": judged.score,
        "score_low": None if judged.score_range is None else judged.score_range[0],
        "score_high": None if judged.score_range is None else judged.score_range[1],
        **worded_as("summary", summary(lunch, judged)),
        "standard": standard_row(lunch.table),
        "items": [_of_item(item_row(item), one) for item, one in zip(items, sent, strict=True)],
        "findings": [finding_row(one, items) for one in judged.findings]
        + [left_out_row(target, rule) for target, rule in lunch.table.left_out]
        + [_of_item(rule_row(one), sent[one.place]) for one in judged.rules],
        "totals": totals_rows(judged.totals, bool(lunch.table.standard.crediting)),
        "allergens": [_of_item(screened_row(items[place].food, one), sent[place]) for place, one in judged.screened],
        "handling": [_of_items(handling_row(one), [sent[place] for place in one.places]) for one in judged.handling],
        "energy_need": None,
        "changes": [],
        "yardsticks": [
            yardstick_row(
                one.yardstick,
                [found.status for found in one.findings],
                [finding_row(found, items) for found in one.findings],
            )
            for one in judged.beside
        ],
        **_cautions(lunch.table, [*lunch_cautions(lunch, judged), *more]),
    }


def _of_item(row: Reply, sent: SentItem) -> Reply:
    """The row with the item's place in the request and the caller's own id for it."""
    return {"item": sent.place, "item_id": sent.id, **row}


NO_ITEM = SentItem(None, None)
"""Of a change that speaks of no item of the lunch."""


def _of_items(row: Reply, sent: Sequence[SentItem]) -> Reply:
    ordered = sorted(sent, key=lambda one: one.place or 0)
    return {**row, "places": [one.place for one in ordered], "item_ids": [one.id for one in ordered]}


def placed_changes(changes: list[Reply], items: Sequence[PreparedItem], sent: Sequence[SentItem]) -> list[Reply]:
    """The changes, each with the place and id of the item that it speaks of (of like items: the first)."""
    rows = []
    for change in changes:
        of = change.pop("of")
        rows.append(_of_item(change, NO_ITEM if of is None else sent[items.index(of)]))
    return rows


def item_row(item: PreparedItem) -> Reply:
    """The item as it was understood; not to be changed: remembered for foods of the reference tables."""
    return _item_row(item) if item.food.kind == "label" else _remembered_item(item)


def _item_row(item: PreparedItem) -> Reply:
    nominal = item.vector.nominal
    return {
        "food": item.food.id,
        "name": item.food.name,
        "quantity": item.quantity,
        "unit": item.unit,
        "grams": item.amount_mg / 1000,
        "form": item.form,
        "credits": {
            measure: value / SCALE for measure, value in zip(CREDIT_IDS, nominal[NUTRIENT_COUNT:], strict=True) if value
        },
        "energy_kcal": None if item.food.nutrients[0] is None else round(nominal[0] / SCALE, 3),
        "source": item.food.source,
    }


_remembered_item = lru_cache(maxsize=4096)(_item_row)


@lru_cache(maxsize=2048)
def _fixed_part(target: Target) -> Reply:
    """What of a finding does not depend on the lunch, with room for what does: copied, not built, for each lunch."""
    return {
        "item": None,
        "item_id": None,
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
        "code": None,
        "params": None,
    }


def finding_row(judgement: Judgement, items: Sequence[PreparedItem]) -> Reply:
    """One judged target."""
    target, status, amount, _satisfaction, low, high, counts = judgement
    if high is None and status in ("met", "over"):
        said = _said(target, finding_message(judgement))
    elif status == "met":
        said = _met(target, rounded(amount, target.unit))
    elif status == "unknown":
        said = _said(target, finding_message(judgement, *_widened_items(target, items)))
    elif status == "not_applicable":
        said = _said(target, finding_message(judgement))
    else:
        said = _off(target, status, *off_amounts(judgement))
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
    row["sentence"], row["code"], row["params"] = said
    return row


def left_out_row(target: Target, rule: SubstituteRule) -> Reply:
    """A target that does not apply to a child who must not have what it asks for, and what to look at instead."""
    needs = [
        message("finding.substitute-need", amount=amount, unit=unit_of(measure), measure=label_of(measure))
        for measure, amount in rule.holds_per_cup.items()
    ]
    said = message(
        "finding.avoided",
        label=target.label,
        allergen=rule.allergen,
        needs=needs,
        look_at=[label_of(measure) for measure in rule.look_at],
        wanted=wanted(target),
    )
    row = finding_row(Judgement(target, "not_applicable", 0.0, 1.0, 0.0, 0.0, False), [])
    return {**row, "source": rule.source, "source_status": rule.status, **worded(said)}


def label_of(measure: str) -> str:
    """The plain label of a measure."""
    return MEASURES[MEASURE_INDEX[measure]].label


def unit_of(measure: str) -> str:
    """The unit of a measure."""
    return MEASURES[MEASURE_INDEX[measure]].unit


def _said(target: Target, said: Message) -> tuple[str, str, Reply]:
    """The sentence, the code and the values of a finding."""
    params = (
        said.params if "reasons" not in said.params else {**said.params, "reasons": json_of(said.params["reasons"])}
    )
    return _sentence(target, said.code)(said.params), said.code, {**params, "wanted": _wanted(target)}


@kept_by_language(4096)
def _met(target: Target, amount: float) -> tuple[str, str, Reply]:
    """Of a target that is met; not to be changed: remembered, since few rounded amounts meet a target."""
    return _said(target, met_message(target, amount))


@kept_by_language(8192)
def _off(target: Target, status: Status, amount: float, gap: float) -> tuple[str, str, Reply]:
    """The same of a target that is missed."""
    return _said(target, off_message(target, status, amount, gap))


@kept_by_language(8192)
def _sentence(target: Target, code: str) -> Callable[[Mapping[str, Value]], str]:
    """What writes a finding on a target: only the amounts differ from one lunch to the next."""
    return spoken().with_known(code, {"label": target.label, "unit": target.unit, "wanted": wanted(target)})


@lru_cache(maxsize=2048)
def _wanted(target: Target) -> Any:
    """What a target asks for, as JSON values; not to be changed."""
    return json_of(wanted(target))


def _widened_items(target: Target, items: Sequence[PreparedItem]) -> tuple[list[str], list[str]]:
    measures = target.measures
    missing: list[str] = []
    rounded: list[str] = []
    for item in items:
        for measure, _low, _high in item.vector.interval_entries:
            if measure in measures:
                (rounded if measure in item.food.ranges else missing).append(item.food.name)
    names = list(dict.fromkeys(missing))
    return names, [name for name in dict.fromkeys(rounded) if name not in names]


def rule_row(rule: RuleFinding) -> Reply:
    """One finding of a rule on single products, in the form of a target's."""
    return {
        "id": rule.id,
        "kind": "product_rule",
        "label": rule.label,
        "at_least": rule.at_least,
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
        **worded(rule.said),
    }


@lru_cache(maxsize=256)
def standard_row(table: TargetTable) -> Reply:
    """The standard, the age group and the day a lunch was judged by."""
    return judged_by(table.standard, table.age_group, table.on)


def judged_by(known: Standard | FrequencyStandard, group: AgeGroup, on: date) -> Reply:
    """A standard of targets or of frequencies, the age group and the day."""
    return {
        "id": known.id,
        "title": known.title,
        "citation": known.citation,
        "about": known.about,
        "historical": known.historical,
        "age_group": group.id,
        "age_group_title": group.title,
        "on": on.isoformat(),
    }


_SHOWN_MEASURES = tuple((one.id, one.unit) for one in MEASURES)
_SHOWN_NUTRIENTS = _SHOWN_MEASURES[:NUTRIENT_COUNT]


def totals_rows(totals: Totals, with_credits: bool) -> Reply:
    """The sums by measure; credits only for a standard that has them."""
    shown: Reply = {}
    measures = _SHOWN_MEASURES if with_credits else _SHOWN_NUTRIENTS
    for (measure, unit), whole in zip(measures, totals.nominal, strict=False):
        amount = round(whole / SCALE, 3)
        shown[measure] = {"amount": amount, "low": amount, "high": amount, "unit": unit, "complete": True}
    for index, low in totals.low.items():
        if index < len(measures):
            most = totals.high[index]
            row = shown[measures[index][0]]
            row["low"] = round(low / SCALE, 3)
            row["high"] = None if most is None else round(most / SCALE, 3)
            row["complete"] = False
    return shown


def handling_row(one: HandlingFinding) -> Reply:
    """One finding on form or holding."""
    return {
        "id": one.id,
        "status": one.status,
        "items": list(one.items),
        **worded_as("brief", one.brief),
        **worded(one.said),
        "source": one.source,
        "source_status": one.source_status,
    }


def energy_need_row(need: EnergyNeed) -> Reply:
    """The child's own need next to the age group's range."""
    return {
        "day_kcal": need.day_kcal,
        "lunch_percent": need.lunch_percent,
        "lunch_kcal": need.lunch_kcal,
        "source": need.source,
        "source_status": need.status,
        "share_source": need.share_source,
        "share_status": need.share_status,
        **worded(
            message(
                "energy.need",
                day_kcal=round(need.day_kcal, -1),
                percent=need.lunch_percent,
                lunch_kcal=round(need.lunch_kcal, -1),
            )
        ),
    }


def _cautions(table: TargetTable, of_lunch: Sequence[Message]) -> Reply:
    """All cautions; those that do not depend on the lunch are not said anew each time."""
    always, more = _always_said(table), listed_as("caution", of_lunch)
    return {name: [*said, *more[name]] for name, said in always.items()}


@kept_by_language(256)
def _always_said(table: TargetTable) -> Reply:
    return listed_as("caution", [*CAUTIONS, *table_cautions(table)])
