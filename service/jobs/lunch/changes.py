"""Up to five single changes to a lunch, out of the foods at hand, that mend most.

Never one that brings in a food which the child or the setting must avoid or of which that is unknown,
a choking form, or a product over its own limit; never one that breaks a target that was met.
"""

from typing import TYPE_CHECKING, Any

from service.domain.allergens.screening import Avoidance, Screened, screen_food
from service.domain.errors import LunchError
from service.domain.foods.amounts import amount_mg_of, credit_option, item_vector
from service.domain.foods.food import Food
from service.domain.lunch.changes import Candidate, Ranked, rank_changes
from service.domain.lunch.findings import Judgement
from service.domain.lunch.handling import choking_finding
from service.domain.lunch.special_rules import milk_findings, product_findings
from service.domain.lunch.standards import TargetTable
from service.domain.measures import SCALE
from service.jobs.foods.at_hand import OnHand, everyday_foods, foods_named
from service.jobs.requests import LunchCheckRequest, Region
from service.reference.allergens.vocabulary import vocabulary
from service.reference.lunch.handling import handling_rules
from service.reference.lunch.standards import crediting_scheme

if TYPE_CHECKING:
    from service.jobs.lunch.items import PreparedItem


def changes_for(
    asked: LunchCheckRequest,
    table: TargetTable,
    items: list["PreparedItem"],
    avoidances: list[Avoidance],
    judgements: list[Judgement],
    age_months: int,
) -> list[dict[str, Any]]:
    """The best single changes as published rows, best first."""
    on_hand = _on_hand(asked, table, avoidances, age_months)
    candidates: dict[int, tuple[Candidate, dict[str, Any]]] = {}

    def add(candidate: Candidate, told: dict[str, Any]) -> None:
        candidates[id(candidate)] = (candidate, told)

    for item in items:
        wrong = _problems(item, avoidances, age_months, asked)
        _portions(item, table, wrong, add)
        _removal_and_swaps(item, table, wrong, on_hand, bool(asked.offer), len(items), add)
        _other_form(item, avoidances, age_months, asked, add)
    _additions(table, items, on_hand, add)
    ranked = rank_changes(
        table.targets,
        judgements,
        [item.vector for item in items],
        [candidate for candidate, _told in candidates.values()],
        asked.max_changes,
    )
    labels = {target.id: target.label for target in table.targets}
    return [_row(one, candidates[id(one.candidate)][1], labels) for one in ranked]


def _on_hand(
    asked: LunchCheckRequest, table: TargetTable, avoidances: list[Avoidance], age_months: int
) -> list[OnHand]:
    """The foods at hand that this child may take, each in an amount."""
    found = foods_named(asked.offer, "/offer") if asked.offer else everyday_foods()
    return [one for one in found if may_come_in(one[0], table, avoidances, age_months, asked.regions)]


def may_come_in(
    food: Food, table: TargetTable, avoidances: list[Avoidance], age_months: int, regions: list[Region]
) -> bool:
    """Whether a food may be suggested: nothing avoided in it or unknown, no choking form, no product over its limit."""
    if not may_be_given(food, avoidances, age_months, regions):
        return False
    rules = product_findings(table.product_rules, [food]) + milk_findings(table.milk_rules, [food])
    return all(rule.status == "met" for rule in rules)


def may_be_given(food: Food, avoidances: list[Avoidance], age_months: int, regions: list[Region]) -> bool:
    """Whether nothing avoided is in a food or unknown of it, and no choking form is known or open."""
    words = vocabulary()
    if any(screen_food(words, food, one).outcome != "not_declared" for one in avoidances):
        return False
    finding = choking_finding(handling_rules(), food, None, age_months, regions)
    return finding is None or finding.status not in ("do_not_pack", "unknown")


def _screen(item: "PreparedItem", avoidances: list[Avoidance]) -> list[Screened]:
    words = vocabulary()
    return [screen_food(words, item.food, one) for one in avoidances]


def _problems(
    item: "PreparedItem", avoidances: list[Avoidance], age_months: int, asked: LunchCheckRequest
) -> tuple[str, ...]:
    """What is wrong with an item beside the targets; taking it out mends that."""
    wrong = [
        f"allergen:{one.avoidance.allergen}"
        for one in _screen(item, avoidances)
        if one.do_not_pack or one.outcome == "check_label"
    ]
    finding = choking_finding(handling_rules(), item.food, item.form, age_months, asked.regions)
    if finding is not None and finding.status == "do_not_pack":
        wrong.append(finding.id)
    return tuple(dict.fromkeys(wrong))


def _portions(item: "PreparedItem", table: TargetTable, wrong: tuple[str, ...], add: Any) -> None:
    if wrong:
        return
    scheme = crediting_scheme(table.standard.crediting)
    now = item.quantity
    wanted = {now * 0.5, now * 0.75, now * 1.25, now * 1.5, now * 2.0}
    if item.unit != "g":
        wanted = {q for q in (now - 1, now - 0.5, now + 0.5, now + 1, now * 0.5, now * 2) if q > 0.2 and q != now}
    for quantity in sorted(wanted):
        try:
            amount = amount_mg_of(item.food, round(quantity * SCALE), item.unit)
        except LunchError:
            continue  # a portion too large to be one item is no candidate
        into = item_vector(item.food, amount, scheme, item.option)
        more = quantity > now
        candidate = Candidate(
            "portion",
            item.vector,
            into,
            ("portion", item.food.id + item.food.name, "more" if more else "less"),
            abs(amount - item.amount_mg),
            ("portion", item.food.name, f"{quantity:012.4f}"),
        )
        words = f"{item.food.name}: take {quantity:g} {item.unit} instead of {now:g}."
        add(candidate, _told("portion", words, item.food, item, quantity, item.unit, amount))


def _removal_and_swaps(
    item: "PreparedItem",
    table: TargetTable,
    wrong: tuple[str, ...],
    on_hand: list[OnHand],
    offered: bool,
    count: int,
    add: Any,
) -> None:
    scheme = crediting_scheme(table.standard.crediting)
    food = item.food
    if count > 1:
        candidate = Candidate(
            "remove",
            item.vector,
            None,
            ("remove", food.id + food.name, ""),
            item.amount_mg,
            ("remove", food.name),
            wrong,
        )
        add(candidate, _told("remove", f"Leave out {food.name}.", None, item, None, None, None))
    for other, amount_mg, quantity, unit in on_hand:
        if (other.id, other.name) == (food.id, food.name):
            continue
        if not offered and other.category != food.category:
            continue
        into = item_vector(other, amount_mg, scheme, credit_option(other, None))
        candidate = Candidate(
            "swap",
            item.vector,
            into,
            ("swap", food.id + food.name, other.category),
            amount_mg + item.amount_mg,
            ("swap", food.name, other.name, other.id),
            wrong,
        )
        words = f"Swap {food.name} for {other.name} ({quantity:g} {unit})."
        add(candidate, _told("swap", words, other, item, quantity, unit, amount_mg))


def _other_form(
    item: "PreparedItem", avoidances: list[Avoidance], age_months: int, asked: LunchCheckRequest, add: Any
) -> None:
    """Cutting it another way, where guidance gives a form for this age."""
    rules = handling_rules()
    finding = choking_finding(rules, item.food, item.form, age_months, asked.regions)
    if finding is None or finding.status != "do_not_pack":
        return
    if not item.food.handling.choking_rule:
        return
    rule = rules.choking[item.food.handling.choking_rule]
    usual = [form for form in item.food.handling.forms if form in rule.allowed_forms]
    for place, form in enumerate(usual or sorted(rule.allowed_forms)):
        other = choking_finding(rules, item.food, form, age_months, asked.regions)
        if other is None or other.status != "in_order":
            continue
        candidate = Candidate(
            "form", None, None, ("form", item.food.name, ""), 0, ("form", item.food.name, f"{place:02d}"), (finding.id,)
        )
        words = f"Give {item.food.name} {rules.in_words(form)}. {rule.prepare}"
        told = _told("form", words, item.food, item, item.quantity, item.unit, item.amount_mg)
        told["form"] = form
        add(candidate, told)


def _additions(table: TargetTable, items: list["PreparedItem"], on_hand: list[OnHand], add: Any) -> None:
    scheme = crediting_scheme(table.standard.crediting)
    there = {(item.food.id, item.food.name) for item in items}
    for food, amount_mg, quantity, unit in on_hand:
        if (food.id, food.name) in there:
            continue
        into = item_vector(food, amount_mg, scheme, credit_option(food, None))
        candidate = Candidate("add", None, into, ("add", "", food.category), amount_mg, ("add", food.name, food.id))
        words = f"Add {food.name} ({quantity:g} {unit})."
        add(candidate, _told("add", words, food, None, quantity, unit, amount_mg))


def _told(
    kind: str,
    sentence: str,
    food: Food | None,
    item: "PreparedItem | None",
    quantity: float | None,
    unit: str | None,
    amount_mg: int | None,
) -> dict[str, Any]:
    return {
        "of": item,
        "kind": kind,
        "sentence": sentence,
        "instead_of": None if item is None else item.food.id,
        "instead_of_name": None if item is None else item.food.name,
        "food": None if food is None else food.id,
        "name": None if food is None else food.name,
        "quantity": quantity,
        "unit": unit,
        "grams": None if amount_mg is None else amount_mg / 1000,
        "form": None,
    }


def _row(ranked: Ranked, told: dict[str, Any], labels: dict[str, str]) -> dict[str, Any]:
    return {
        **told,
        "mends": [*ranked.candidate.mends_other, *ranked.mends],
        "mends_labels": [labels[target] for target in ranked.mends],
        "score_after": ranked.score,
    }
