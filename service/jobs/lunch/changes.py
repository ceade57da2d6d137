"""Up to five single changes to a lunch, out of the foods at hand, that fix most.

Never one that brings in a food which the child or the setting must avoid or of which that is unknown,
a choking form, or a product over its own limit; never one that breaks a target that was met.
"""

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

from service.domain.allergens.screening import Avoidance, screen_food
from service.domain.errors import LunchError
from service.domain.foods.amounts import Portion, amount_mg_of
from service.domain.foods.crediting import CreditingScheme
from service.domain.foods.food import Food
from service.domain.lunch.changes import (
    Change,
    Judged,
    LunchChange,
    Move,
    Moves,
    adding,
    leaving_out,
    portioning,
    rank_changes,
    swapping,
)
from service.domain.lunch.findings import Judgement
from service.domain.lunch.handling import choking_finding
from service.domain.lunch.special_rules import milk_findings, product_findings
from service.domain.lunch.standards import TargetTable
from service.domain.measures import SCALE
from service.domain.messages import Message, message
from service.jobs.foods.at_hand import everyday_foods, foods_named
from service.jobs.lunch.change_rows import change_row
from service.jobs.requests import LunchCheckRequest, Region
from service.reference.allergens.vocabulary import vocabulary
from service.reference.lunch.handling import handling_rules
from service.reference.lunch.standards import crediting_scheme

if TYPE_CHECKING:
    from service.jobs.lunch.items import PreparedItem


class MayHave(NamedTuple):
    """What decides whether a food may come in for a child; ``table``: of its standard, for limits on products."""

    table: TargetTable | None
    avoidances: tuple[Avoidance, ...]
    age_months: int
    regions: tuple[Region, ...]

    def more_of(self, food: Food, form: str | None = None) -> bool:
        """Whether nothing avoided is in a food or unknown of it, and no choking form is known or open."""
        words = vocabulary()
        if any(screen_food(words, food, one).outcome != "not_declared" for one in self.avoidances):
            return False
        finding = choking_finding(handling_rules(), food, form, self.age_months, self.regions)
        return finding is None or finding.status not in ("do_not_pack", "unknown")

    def come_in(self, one: Portion) -> bool:
        """Whether a food may be suggested: it may be had, and is not a product over its limit."""
        if not self.more_of(one.food, one.form):
            return False
        if self.table is None:
            return True
        rules = product_findings(self.table.product_rules, [one.food])
        return all(rule.status == "met" for rule in rules + milk_findings(self.table.milk_rules, [one.food]))

    def foods_at_hand(self, named: Sequence[Portion] | None) -> Sequence[Portion]:
        """The foods named, or the everyday lunch foods, that may come in."""
        return _everyday(self) if named is None else [one for one in named if self.come_in(one)]


@lru_cache(maxsize=64)
def _everyday(may_have: MayHave) -> Sequence[Portion]:
    return tuple(one for one in everyday_foods() if may_have.come_in(one))


def changes_for(
    asked: LunchCheckRequest,
    table: TargetTable,
    items: list["PreparedItem"],
    avoidances: list[Avoidance],
    judgements: list[Judgement],
    age_months: int,
) -> list[dict[str, Any]]:
    """The best single changes as published rows, best first."""
    may_have = MayHave(table, tuple(avoidances), age_months, tuple(asked.regions))
    at_hand = may_have.foods_at_hand(foods_named(asked.offer) if asked.offer else None)
    scheme = crediting_scheme(table.standard.crediting)
    changes: list[LunchChange] = []
    for place, item in enumerate(items):
        wrong = _problems(item, may_have)
        moves = (Move(item.vector, None, 0, place),)
        if not wrong:
            changes += _portions(item, moves, scheme)
        if len(items) > 1:
            changes.append(leaving_out(item.food, moves, item.amount_mg, wrong))
        changes += swaps(item.food, moves, item.amount_mg, at_hand, scheme, wrong, any_kind=bool(asked.offer))
        changes += _other_form(item, place, may_have)
    there = {(item.food.id, item.food.name) for item in items}
    for one in at_hand:
        if (one.food.id, one.food.name) not in there:
            changes.append(adding(one, (Move(None, one.vector(scheme)),)))
    ranked = rank_changes(table.targets, judgements, [item.vector for item in items], changes, asked.max_changes)
    labels = {target.id: target.label for target in table.targets}
    return [_row(one, items, labels) for one in ranked]


def _problems(item: "PreparedItem", may_have: MayHave) -> tuple[str, ...]:
    """What is wrong with an item apart from the targets; leaving it out fixes that."""
    words = vocabulary()
    screened = [screen_food(words, item.food, one) for one in may_have.avoidances]
    wrong = [f"allergen:{one.avoidance.allergen}" for one in screened if one.do_not_pack or one.unread]
    finding = choking_finding(handling_rules(), item.food, item.form, may_have.age_months, may_have.regions)
    if finding is not None and finding.status == "do_not_pack":
        wrong.append(finding.id)
    return tuple(dict.fromkeys(wrong))


def _portions(item: "PreparedItem", moves: Moves, scheme: CreditingScheme | None) -> Iterator[LunchChange]:
    now = item.quantity
    wanted = {now * 0.5, now * 0.75, now * 1.25, now * 1.5, now * 2.0}
    if item.unit != "g":
        wanted = {q for q in (now - 1, now - 0.5, now + 0.5, now + 1, now * 0.5, now * 2) if q > 0.2 and q != now}
    for quantity in sorted(wanted):
        try:
            amount = amount_mg_of(item.food, round(quantity * SCALE), item.unit)
        except LunchError:
            continue  # a portion too large to be one item is not a candidate
        into = Portion(item.food, amount, quantity, item.unit, item.form, item.option)
        made = tuple(move._replace(into=into.vector(scheme)) for move in moves)
        size = abs(amount - item.amount_mg)
        yield portioning(item.food, made, size, into, quantity, more=quantity > now, times=None)


def swaps(
    food: Food,
    moves: Moves,
    amount_mg: int,
    at_hand: Sequence[Portion],
    scheme: CreditingScheme | None,
    fixes_beside: tuple[str, ...] = (),
    *,
    any_kind: bool,
) -> Iterator[LunchChange]:
    """Each food at hand in the place of one; ``any_kind``: also of another category."""
    for other in at_hand:
        if (other.food.id, other.food.name) != (food.id, food.name) and (
            any_kind or other.food.category == food.category
        ):
            vector = other.vector(scheme)
            made = tuple(move._replace(into=vector) for move in moves)
            yield swapping(food, made, amount_mg, other, fixes_beside)


def _other_form(item: "PreparedItem", place: int, may_have: MayHave) -> Iterator[LunchChange]:
    """Cutting it another way, where guidance gives a form for this age: the usual one of those that are in order."""
    rules, food = handling_rules(), item.food
    finding = choking_finding(rules, food, item.form, may_have.age_months, may_have.regions)
    if finding is None or finding.status != "do_not_pack" or not food.handling.choking_rule:
        return
    allowed = rules.choking[food.handling.choking_rule].allowed_forms
    for form in [one for one in food.handling.forms if one in allowed] or sorted(allowed):
        other = choking_finding(rules, food, form, may_have.age_months, may_have.regions)
        if other is not None and other.status == "in_order":
            into = Portion(food, item.amount_mg, item.quantity, item.unit, form, item.option)
            family = ("form", food.name, "")
            moves = (Move(None, None, 0, place),)
            yield Change("form", moves, 0, family, ("form", food.name), food, into, (finding.id,), form)
            return


def _row(ranked: Judged[Moves, float], items: list["PreparedItem"], labels: Mapping[str, str]) -> dict[str, Any]:
    change = ranked.change
    (move,) = change.where
    of = None if move.item is None else items[move.item]
    return {
        "of": of,
        **change_row(change, _said(change, of)),
        "mends": list(ranked.all_fixes),
        "mends_labels": [labels[target] for target in ranked.fixes],
        "score_after": ranked.after,
    }


def _said(change: LunchChange, of: "PreparedItem | None") -> Message:
    """The change in words; ``of``: the item that goes or changes."""
    into, out = change.into, change.out
    if into is None or out is None or of is None:
        if into is None:
            return message("change.leave-out", name="" if out is None else out.name)
        return message("change.add", name=into.food.name, quantity=into.quantity, unit=into.unit)
    if change.kind == "swap":
        return message("change.swap", name=out.name, other=into.food.name, quantity=into.quantity, unit=into.unit)
    if change.kind == "form":
        rules = handling_rules()
        prepare = rules.choking[out.handling.choking_rule].prepare
        return message("change.form", name=out.name, form=rules.in_words(change.form or ""), prepare=prepare)
    return message("change.portion", name=out.name, quantity=into.quantity, unit=into.unit, before=of.quantity)
