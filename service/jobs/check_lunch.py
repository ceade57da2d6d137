"""Check one lunch of one child: figures against the standard, allergens, forms, holding, and changes.

The reply is a plain dictionary (see service/api/replies.py for its published shape). The same lunch
with its items in another order gives the same reply.
"""

from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Any

from service.domain.allergens import resolve
from service.domain.amounts import ItemVector, Totals, add_up, credit_option, item_vector
from service.domain.cautions import CAUTIONS, status_cautions
from service.domain.errors import BadInput, LunchError, raise_all
from service.domain.findings import Judgement, judge, sentence
from service.domain.foods import CreditOption, Food
from service.domain.handling import HandlingFinding, Held, Holding, choking_finding, holding_findings
from service.domain.measures import CREDIT_IDS, MEASURES, NUTRIENT_COUNT, SCALE
from service.domain.screening import Avoidance, Screened, screen_food
from service.domain.special_rules import RuleFinding, milk_findings, product_findings
from service.domain.standards import AgeGroup, Target, TargetTable, check_date, compile_targets
from service.domain.verdict import counts, off_the_mean, score_of, verdict_of
from service.jobs.foods import amount_of, food_of
from service.jobs.requests import Child, HoldingConditions, LunchCheckRequest, LunchItem, Setting
from service.reference.allergens import vocabulary
from service.reference.energy import lunch_share, need_equations
from service.reference.handling import handling_rules
from service.reference.standards import crediting_scheme, standard

Reply = dict[str, Any]


@dataclass(frozen=True, slots=True, eq=False)
class PreparedItem:
    """One item made ready: food, weight, unit, the way it credits, its form, and its measures."""

    food: Food
    amount_mg: int
    quantity: float
    unit: str
    option: CreditOption | None
    form: str | None
    held: Held
    vector: ItemVector

    def order(self) -> tuple[str, str, int, str, str, str]:
        """What items are sorted by, so that the order they came in does not matter."""
        food = self.food
        option = self.option.name if self.option else ""
        return (food.name, food.id, self.amount_mg, self.unit, f"{self.form or ''} {self.held} {option}", repr(food.nutrients))


def check_lunch(asked: LunchCheckRequest) -> Reply:
    """Check one lunch.

    Raises ``LunchError`` (``ManyFaults`` for several) for anything in the request that does not fit the
    reference data; nothing is checked in part.
    """
    table = target_table(asked.standard, asked.child, asked.on)
    items = prepare(asked.lunch.items, table.standard.crediting, "/lunch/items")
    avoidances = avoidances_of(asked.child, asked.setting)
    totals = add_up([item.vector for item in items])
    judgements = [judge(target, totals) for target in table.targets]
    foods = [item.food for item in items]
    rules = product_findings(table.product_rules, foods) + milk_findings(table.milk_rules, foods)
    screened = screen_items(items, avoidances)
    age_months = asked.child.months()
    youngest = table.age_group.from_age_months if age_months is None else age_months
    handling = handling_of(items, asked.lunch.holding, youngest, asked.regions)
    verdict = verdict_of(judgements, rules, [one for _item, one in screened], handling)
    findings = [_finding(judgement, items) for judgement in judgements] + [_rule_finding(rule) for rule in rules]
    reply: Reply = {
        "verdict": verdict,
        "score": None if verdict == "do_not_pack" else score_of(judgements),
        "summary": summary(verdict, judgements, rules, screened, handling),
        "standard": _standard(table),
        "items": [_item(item) for item in items],
        "findings": findings,
        "totals": _totals(totals, items, bool(table.standard.crediting)),
        "allergens": [_screened(item, one) for item, one in screened],
        "handling": [_handling(one) for one in handling],
        "energy_need": _energy_need(asked.child),
        "changes": [],
        "cautions": [*CAUTIONS, *_table_cautions(table), *_status_cautions(judgements, rules, handling, items)],
    }
    if asked.child.nickname:
        reply["nickname"] = asked.child.nickname
    if asked.max_changes and verdict != "pack":
        from service.jobs.changes import changes_for

        reply["changes"] = changes_for(asked, table, items, avoidances, judgements, youngest)
    return reply


@lru_cache(maxsize=256)
def _compiled(standard_id: str, group_id: str, on: date) -> TargetTable:
    known = standard(standard_id)
    return compile_targets(known, known.group(group_id), on)


def target_table(standard_id: str, child: Child, on: date) -> TargetTable:
    """The compiled targets for a child on a day; the age group named, or the one its age falls in."""
    known = standard(standard_id)
    check_date(known, on)
    return _compiled(standard_id, age_group_of(standard_id, child).id, on)


def age_group_of(standard_id: str, child: Child) -> AgeGroup:
    """The age group of a child in a standard."""
    known = standard(standard_id)
    if child.age_group is not None:
        return known.group(child.age_group)
    months = child.months()
    if months is None:
        groups = ", ".join(group.id for group in known.age_groups)
        raise BadInput(
            pointer="/child",
            value="no age",
            problem="does not say how old the child is",
            remedy=f"Give age_months, age_years, or age_group (one of: {groups}).",
        )
    return known.group_of_age(months, "/child/age_months" if child.age_months is not None else "/child/age_years")


def prepare(asked: list[LunchItem], crediting: str, pointer: str) -> list[PreparedItem]:
    """Make items ready for the engine, in an order that does not depend on how they came."""
    scheme = crediting_scheme(crediting)
    faults: list[LunchError] = []
    items: list[PreparedItem] = []
    for place, item in enumerate(asked):
        where = f"{pointer}/{place}"
        try:
            food = food_of(item.food, where + "/food")
            amount_mg, unit = amount_of(item, food, where)
            option = credit_option(food, item.credit_as, where)
            vector = item_vector(food, amount_mg, scheme, option)
            items.append(
                PreparedItem(food, amount_mg, item.quantity, unit, option, item.form, item.held or "cold", vector)
            )
        except LunchError as fault:
            faults.append(fault)
    raise_all(faults)
    items.sort(key=PreparedItem.order)
    return items


def avoidances_of(child: Child, setting: Setting) -> list[Avoidance]:
    """What must be kept away: the child's allergens and the setting's bans, names resolved."""
    words = vocabulary()
    faults: list[LunchError] = []
    found: dict[tuple[str, str], Avoidance] = {}
    for place, avoided in enumerate(child.avoids):
        try:
            for allergen in resolve(words, avoided.allergen, f"/child/avoids/{place}/allergen"):
                key = (allergen, "child")
                if key not in found or avoided.threshold == "may_contain":
                    found[key] = Avoidance(allergen, avoided.threshold, "child")
        except LunchError as fault:
            faults.append(fault)
    for place, banned in enumerate(setting.bans):
        try:
            for allergen in resolve(words, banned, f"/setting/bans/{place}"):
                found[(allergen, "setting")] = Avoidance(allergen, setting.ban_threshold, "setting")
        except LunchError as fault:
            faults.append(fault)
    raise_all(faults)
    return [found[key] for key in sorted(found)]


def screen_items(items: list[PreparedItem], avoidances: list[Avoidance]) -> list[tuple[PreparedItem, Screened]]:
    """Every item against every avoidance, in order."""
    words = vocabulary()
    return [(item, screen_food(words, item.food, avoidance)) for item in items for avoidance in avoidances]


def handling_of(
    items: list[PreparedItem], holding: HoldingConditions | None, age_months: int, regions: list[Any]
) -> list[HandlingFinding]:
    """Choking forms first, then holding."""
    rules = handling_rules()
    found = []
    for item in items:
        finding = choking_finding(rules, item.food, item.form, age_months, regions)
        if finding is not None:
            found.append(finding)
    kept = Holding() if holding is None else Holding(**holding.model_dump())
    found += holding_findings(rules, [(item.food, item.held) for item in items], kept, regions)
    return found


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
        reasons += [
            f"{one.items[0]}: {one.brief}" for one in handling if one.status == "do_not_pack"
        ]
        return "Do not pack this lunch: " + "; ".join(dict.fromkeys(reasons)) + "."
    if verdict == "check_label":
        open_ones: dict[str, list[str]] = {}
        for item, one in screened:
            if one.outcome == "check_label":
                open_ones.setdefault(words.allergens[one.avoidance.allergen].name, []).append(item.food.name)
        parts = [f"{allergen} in {', '.join(dict.fromkeys(names))}" for allergen, names in open_ones.items()]
        return "Read the labels before packing: nobody here knows about " + "; ".join(parts) + "."
    off = [_short_word(one) for one in judgements if counts(one)]
    off += [f"{one.item}: {one.label}" for one in rules if one.status in ("over", "short", "unknown")]
    off += [one.brief for one in handling if one.status in ("fix", "unknown")]
    mean = [_short_word(one) for one in judgements if off_the_mean(one)]
    tail = f" Off the week's mean, to even out on other days: {', '.join(mean)}." if mean else ""
    if verdict == "adjust":
        return "Change something: " + "; ".join(off) + "." + tail
    return "This lunch keeps every rule checked for one lunch." + tail


def _short_word(judgement: Judgement) -> str:
    label = judgement.target.label
    if judgement.status == "unknown":
        return f"{label} cannot be told"
    return f"too {'little' if judgement.status == 'short' else 'much'} {label}"


@lru_cache(maxsize=2048)
def _fixed_part(target: Target) -> Reply:
    """What of a finding does not depend on the lunch."""
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
    }


def _finding(judgement: Judgement, items: list[PreparedItem]) -> Reply:
    missing: list[str] = []
    rounded: list[str] = []
    if judgement.status == "unknown":
        missing, rounded = _widened_items(judgement.target, items)
    return {
        **_fixed_part(judgement.target),
        "status": judgement.status,
        "amount": round(judgement.amount, 3),
        "amount_low": round(judgement.low, 3),
        "amount_high": None if judgement.high is None else round(judgement.high, 3),
        "counts": counts(judgement),
        "sentence": sentence(judgement, missing, rounded),
    }


def _widened_items(target: Target, items: list[PreparedItem]) -> tuple[list[str], list[str]]:
    measures = {measure for measure, _weight in target.terms}
    missing: list[str] = []
    rounded: list[str] = []
    for item in items:
        for measure, _low, _high in item.vector.widened:
            if measure in measures:
                (missing if item.food.nutrients[measure] is None else rounded).append(item.food.name)
    return list(dict.fromkeys(missing)), list(dict.fromkeys(rounded))


def _rule_finding(rule: RuleFinding) -> Reply:
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
def _standard(table: TargetTable) -> Reply:
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


def _item(item: PreparedItem) -> Reply:
    food = item.food
    credits = {
        CREDIT_IDS[index - NUTRIENT_COUNT]: value / SCALE
        for index, value in enumerate(item.vector.nominal)
        if index >= NUTRIENT_COUNT and value
    }
    return {
        "food": food.id,
        "name": food.name,
        "quantity": item.quantity,
        "unit": item.unit,
        "grams": item.amount_mg / 1000,
        "form": item.form or (food.handling.forms[0] if food.handling.forms else None),
        "credits": credits,
        "energy_kcal": None if food.nutrients[0] is None else item.vector.nominal[0] / SCALE,
        "source": food.source,
    }


def _totals(totals: Totals, items: list[PreparedItem], with_credits: bool) -> Reply:
    shown: Reply = {}
    for index, measure in enumerate(MEASURES):
        if measure.kind == "credit" and not with_credits:
            continue
        low = totals.lowest(index)
        high = totals.highest(index)
        shown[measure.id] = {
            "amount": totals.nominal[index] / SCALE,
            "low": low / SCALE,
            "high": None if high is None else high / SCALE,
            "unit": measure.unit,
            "complete": high is not None,
        }
    return shown


def _screened(item: PreparedItem, one: Screened) -> Reply:
    return {
        "food": item.food.id,
        "name": item.food.name,
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


def _handling(one: HandlingFinding) -> Reply:
    return {
        "id": one.id,
        "status": one.status,
        "items": list(one.items),
        "brief": one.brief,
        "sentence": one.sentence,
        "source": one.source,
        "source_status": one.source_status,
    }


def _energy_need(child: Child) -> Reply | None:
    """The child's own need beside the age group's range; None unless everything is given."""
    months = child.months()
    if child.sex is None or child.height_cm is None or child.weight_kg is None or child.activity is None:
        return None
    if months is None:
        return None
    from service.domain.energy_need import energy_need

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
            f"By equation this child needs about {need.day_kcal:.0f} kcal a day; {need.lunch_percent:g} % of it, "
            f"{need.lunch_kcal:.0f} kcal, would be a lunch's share. It stands beside the age group's range, "
            "and says nothing of one child's growth: ask the child's clinician."
        ),
    }


@lru_cache(maxsize=256)
def _table_cautions(table: TargetTable) -> tuple[str, ...]:
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


def _status_cautions(
    judgements: list[Judgement], rules: list[RuleFinding], handling: list[HandlingFinding], items: list[PreparedItem]
) -> list[str]:
    memory = [one.target.label for one in judgements if one.target.status == "memory"]
    memory += [one.label for one in rules if one.source_status == "memory"]
    memory += [one.id for one in handling if one.source_status == "memory"]
    estimated_measures = sorted({measure for item in items for measure in item.food.estimated})
    used = {measure for one in judgements for measure, _weight in one.target.terms}
    estimated = [MEASURES[measure].label for measure in estimated_measures if measure in used]
    cautions = status_cautions(list(dict.fromkeys(memory)), estimated)
    editions = sorted({edition for item in items for edition in item.food.editions})
    if len(editions) > 1:
        cautions.append("Figures come from more than one food table: " + ", ".join(editions) + ".")
    return cautions
