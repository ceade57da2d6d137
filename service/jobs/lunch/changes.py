"""Up to five single changes to a lunch, out of the foods at hand, that fix most.

Never one that brings in a food which the child or the setting must avoid or of which that is unknown, a choking form, a
sweet or savoury snack, or a product over its own limit; never one that breaks a target that was met or lowers the score,
but where it takes away what forbids packing the lunch: such changes come alone.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

from service.domain.allergens.screening import Avoidance, screen_food
from service.domain.errors import LunchError
from service.domain.foods.amounts import ItemVector, Portion, amount_mg_of, credited_as, item_vector
from service.domain.foods.crediting import CreditingScheme
from service.domain.foods.food import Food
from service.domain.foods.packets import NO_PACKETS, Packets
from service.domain.lunch.changes import (
    Change,
    Judged,
    LunchChange,
    LunchScoring,
    Move,
    Moves,
    TakenOff,
    adding,
    keeping,
    leaving_out,
    portioning,
    rank_changes,
    reading,
    swapping,
)
from service.domain.lunch.findings import Judgement
from service.domain.lunch.handling import Held, choking_finding, holding_figure, holding_findings
from service.domain.lunch.points_off import scored_vector, taken_by_products, taken_by_sweets
from service.domain.lunch.special_rules import broken_rules, milk_findings, product_findings
from service.domain.lunch.standards import TargetTable
from service.domain.lunch.suggesting import SPREAD
from service.domain.measures import THOUSANDTHS
from service.domain.messages import Message, message
from service.jobs.foods.at_hand import everyday_foods, foods_named
from service.jobs.foods.packets import foods_with_packets, packets_at_hand
from service.jobs.foods.resolve import food_of
from service.jobs.lunch.change_rows import change_row
from service.jobs.lunch.resolve import holding_of
from service.jobs.requests.fields import Region
from service.jobs.requests.foods import Recipe
from service.jobs.requests.lunches import LunchCheckRequest
from service.reference.allergens.vocabulary import vocabulary
from service.reference.foods.suggesting import suggesting
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
    packets: Packets = NO_PACKETS

    def more_of(self, food: Food, form: str | None = None) -> bool:
        """Whether nothing avoided is in a food or unknown of it, and no choking form is known or open."""
        words = vocabulary()
        if any(screen_food(words, food, one).outcome != "not_declared" for one in self.avoidances):
            return False
        return self._form_in_order(food, form)

    def come_in(self, one: Portion) -> bool:
        """Whether a food may be suggested: it may be had, is not discretionary, and is not a product over its limit."""
        if one.food.discretionary or not self.more_of(one.food, one.form):
            return False
        if self.table is None:
            return True
        rules = product_findings(self.table.product_rules, [one.food])
        return all(rule.status == "met" for rule in rules + milk_findings(self.table.milk_rules, [one.food]))

    def foods_at_hand(self, named: Sequence[Portion] | None) -> Sequence[Portion]:
        """The foods named, or the everyday lunch foods, that may come in, cut as guidance asks for at this age."""
        return _everyday(self) if named is None else [one for one in map(self._cut, named) if self.come_in(one)]

    def everyday(self, one: Portion) -> Portion:
        """An everyday food, cut for this age; a spread for a small child in its smallest portion."""
        lists = suggesting()
        if SPREAD in lists.kinds_of(one.food) and self.age_months < lists.small_child_below_months:
            unit = lists.smallest_portion(one.food)
            one = one._replace(amount_mg=unit.grams_mg, quantity=1.0, unit=unit.name)
        return self._cut(one)

    def cut_asked_for(self, food: Food, form: str | None) -> bool:
        """Whether guidance for this age speaks of how a food is cut."""
        return choking_finding(handling_rules(), food, form, self.age_months, self.regions) is not None

    def _cut(self, one: Portion) -> Portion:
        """In the form that it has, or else in the first of the food's own forms that guidance gives for this age."""
        forms = (one.form, *suggesting().forms_made(one.food.handling.forms))
        return next((one._replace(form=form) for form in forms if self._form_in_order(one.food, form)), one)

    def _form_in_order(self, food: Food, form: str | None) -> bool:
        finding = choking_finding(handling_rules(), food, form, self.age_months, self.regions)
        return finding is None or finding.status not in ("do_not_pack", "unknown")


@lru_cache(maxsize=64)
def _everyday(may_have: MayHave) -> Sequence[Portion]:
    return tuple(one for one in map(may_have.everyday, everyday_foods(may_have.packets)) if may_have.come_in(one))


def changes_for(
    asked: LunchCheckRequest,
    table: TargetTable,
    items: list["PreparedItem"],
    avoidances: list[Avoidance],
    judgements: list[Judgement],
    age_months: int,
) -> list[dict[str, Any]]:
    """The best single changes as published rows, best first.

    For a lunch that must not be packed only those that take a danger away, whatever target they break; for a label
    that was not read, reading it comes first and is never a reason to leave the food out.
    """
    packets = packets_at_hand(asked.packets, asked.on, asked.salts_cooking_water)
    may_have = MayHave(table, tuple(avoidances), age_months, tuple(asked.regions), packets)
    dangers = [_dangers(item, may_have) for item in items]
    at_hand = may_have.foods_at_hand(foods_named(asked.offer, packets) if asked.offer else None)
    make = _Making(items, may_have, at_hand, table)
    if any(dangers):
        changes = [
            one for place, wrong in enumerate(dangers) if wrong for one in make.without_danger(place, wrong, asked)
        ]
    else:
        changes = make.better(asked)
    scoring = _scoring(asked, table, items, changes)
    vectors = [item.vector for item in items]
    ranked = rank_changes(table.targets, judgements, vectors, changes, asked.max_changes, scoring)
    labels = {target.id: target.label for target in table.targets}
    rows = []
    for one in ranked:
        left = list(dangers)
        (move,) = one.change.where
        if move.item is not None:
            left[move.item] = tuple(wrong for wrong in left[move.item] if wrong not in one.change.fixes_beside)
        rows.append(_row(one, items, labels, may_have, asked, packed=not any(left)))
    return rows


def _scoring(
    asked: LunchCheckRequest, table: TargetTable, items: list["PreparedItem"], changes: Sequence[LunchChange]
) -> LunchScoring:
    """What the score hangs on besides the targets, of the lunch and of what each change brings in."""
    points = table.standard.points_off
    rules, kept, regions = handling_rules(), holding_of(asked.lunch.holding), tuple(asked.regions)

    @cache
    def kept_wrongly(food: Food, held: Held) -> bool:
        return any(one.status == "fix" for one in holding_findings(rules, [(food, held)], kept, regions))

    def taken(food: Food, vector: ItemVector, held: Held) -> tuple[ItemVector, TakenOff]:
        broken = len(broken_rules(table, food))
        off = taken_by_sweets(points, food, vector) + taken_by_products(points, broken, broken)
        return scored_vector(food, vector), TakenOff(off.known, kept_wrongly(food, held))

    into: list[tuple[ItemVector, TakenOff] | None] = []
    for change in changes:
        (move,) = change.where
        if change.into is None or move.into is None:
            into.append(None)
        else:
            held = items[move.item].held if change.kind == "portion" and move.item is not None else "cold"
            into.append(taken(change.into.food, move.into, held))
    return LunchScoring(points, [taken(item.food, item.vector, item.held) for item in items], into)


class _Making(NamedTuple):
    """What the changes to a lunch are made of."""

    items: list["PreparedItem"]
    may_have: MayHave
    at_hand: Sequence[Portion]
    table: TargetTable

    @property
    def scheme(self) -> CreditingScheme | None:
        return crediting_scheme(self.table.standard.crediting)

    def without_danger(self, place: int, wrong: tuple[str, ...], asked: LunchCheckRequest) -> Iterator[LunchChange]:
        """Whatever takes away what is wrong with one item: another form, another food, or none."""
        item = self.items[place]
        yield from _other_form(item, place, self.may_have)
        moves = self._moves(place)
        if len(self.items) > 1:
            yield replace(leaving_out(item.food, moves, item.amount_mg, wrong), must=True)
        lists, there = suggesting(), self._beside(place)
        fitting = [one for one in self.at_hand if one.food not in there and lists.goes_with(one.food, there)]
        if not asked.offer and len(self.items) > 1:
            # Rice for the bread of a child with coeliac disease: another category, but the same part of a lunch.
            kinds, category = lists.kinds_of(item.food), item.food.category
            fitting = [
                one for one in fitting if one.food.category == category or (kinds and lists.kinds_of(one.food) == kinds)
            ]
        for one in swaps(item.food, moves, item.amount_mg, fitting, self.scheme, wrong, any_kind=True):
            yield replace(one, must=True)

    def better(self, asked: LunchCheckRequest) -> list[LunchChange]:
        """Labels to read, other portions, foods left out, other foods in their place, and foods added."""
        lists, scheme = suggesting(), self.scheme
        changes: list[LunchChange] = list(self.keeping_cold(asked))
        for place, item in enumerate(self.items):
            moves = self._moves(place)
            unread = _unread(item, self.may_have)
            if unread:
                usual = _usual_in(item, self.may_have)
                changes.append(reading(item.food, place, unread, usual=usual))
            more = self.may_have.more_of(item.food, item.form)
            changes += _portions(item, moves, scheme, self._same_beside(place), more=more)
            if len(self.items) > 1:
                changes.append(leaving_out(item.food, moves, item.amount_mg))
            there = self._beside(place)
            fitting = [one for one in self.at_hand if one.food not in there and lists.goes_with(one.food, there)]
            broken = broken_rules(self.table, item.food)
            like = [one for one in fitting if broken and one.food.product_kind == item.food.product_kind]
            changes += swaps(item.food, moves, item.amount_mg, like, scheme, broken, any_kind=True)
            fitting = [one for one in fitting if one not in like]
            changes += swaps(item.food, moves, item.amount_mg, fitting, scheme, any_kind=bool(asked.offer))
        foods = [item.food for item in self.items]
        named = {(food.id, food.name) for food in foods}
        for one in self.at_hand:
            if (one.food.id, one.food.name) not in named and lists.goes_with(one.food, foods):
                changes.append(adding(one, (Move(None, one.vector(scheme)),)))
        return changes

    def keeping_cold(self, asked: LunchCheckRequest) -> Iterator[LunchChange]:
        """Cold packs and an insulated bag, where these are all that is wrong with how the lunch is kept."""
        held = [(item.food, item.held) for item in self.items]
        if any(one == "ambient" for _food, one in held):
            return
        found = holding_findings(handling_rules(), held, holding_of(asked.lunch.holding), self.may_have.regions)
        if [one.id for one in found if one.status == "fix"] == ["holding:cold"]:
            yield keeping("holding:cold")

    def _same_beside(self, place: int) -> int:
        """Milligrams of the same food in the other items."""
        same = [(item.amount_mg, credited_as(item.food, item.option)) for item in self.items]
        return sum(mg for other, (mg, food) in enumerate(same) if other != place and food == same[place][1])

    def _moves(self, place: int) -> Moves:
        """An item going out, with the credits that the lunch has by it."""
        item, beside_mg = self.items[place], self._same_beside(place)
        out = item_vector(item.food, item.amount_mg, self.scheme, item.option, beside_mg) if beside_mg else item.vector
        return (Move(out, None, 0, place),)

    def _beside(self, place: int) -> list[Food]:
        return [item.food for other, item in enumerate(self.items) if other != place]


def _dangers(item: "PreparedItem", may_have: MayHave) -> tuple[str, ...]:
    """What of an item forbids packing it: allergens, and a choking form."""
    words = vocabulary()
    screened = [screen_food(words, item.food, one) for one in may_have.avoidances]
    wrong = [f"allergen:{one.avoidance.allergen}" for one in screened if one.do_not_pack]
    finding = choking_finding(handling_rules(), item.food, item.form, may_have.age_months, may_have.regions)
    if finding is not None and finding.status == "do_not_pack":
        wrong.append(finding.id)
    return tuple(dict.fromkeys(wrong))


def _usual_in(item: "PreparedItem", may_have: MayHave) -> bool:
    """Whether an allergen that the label has to be read for is usual in such food, or nothing is known of it."""
    words = vocabulary()
    return any(screen_food(words, item.food, one).outcome == "check_label" for one in may_have.avoidances)


def _unread(item: "PreparedItem", may_have: MayHave) -> tuple[str, ...]:
    """The avoided allergens that the label of an item has to be read for."""
    words = vocabulary()
    screened = [screen_food(words, item.food, one) for one in may_have.avoidances]
    return tuple(dict.fromkeys(one.avoidance.allergen for one in screened if one.unread))


def _labels_to_read(food: Food, may_have: MayHave, asked: LunchCheckRequest) -> list[str]:
    """The names on the packets that settle a food: of a dish, those of its ingredients that are still to be read."""
    own = [one.food for one in asked.lunch.items if isinstance(one.food, Recipe) and one.food.name == food.name]
    parts = list(foods_with_packets(own[0] if own else food.id))
    if not own and parts == [food.id]:
        return [food.name]
    words = vocabulary()
    of_parts = [food_of(one, may_have.packets) for one in parts]
    unread = [one.name for one in of_parts if any(screen_food(words, one, each).unread for each in may_have.avoidances)]
    return list(dict.fromkeys(unread)) or [food.name]


def _portions(
    item: "PreparedItem", moves: Moves, scheme: CreditingScheme | None, beside_mg: int, *, more: bool
) -> Iterator[LunchChange]:
    """Other portions of an item; ``more``: whether larger ones too; ``beside_mg``: of the same food in other items."""
    for quantity in suggesting().other_quantities(item.food, item.quantity, item.unit):
        if quantity > item.quantity and not more:
            continue
        try:
            amount = amount_mg_of(item.food, round(quantity * THOUSANDTHS), item.unit)
        except LunchError:
            continue  # a portion too large to be one item is not a candidate
        into = Portion(item.food, amount, quantity, item.unit, item.form, item.option)
        made = tuple(move._replace(into=into.vector(scheme, beside_mg)) for move in moves)
        size = abs(amount - item.amount_mg)
        yield portioning(item.food, made, size, into, quantity, more=quantity > item.quantity, times=None)


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
    # A form that the food itself is not given in is no help; a label names no forms at all.
    for form in suggesting().forms_made(food.handling.forms or sorted(allowed)):
        other = choking_finding(rules, food, form, may_have.age_months, may_have.regions)
        if form in allowed and other is not None and other.status == "in_order":
            into = Portion(food, item.amount_mg, item.quantity, item.unit, form, item.option)
            family = ("form", food.name, "")
            moves = (Move(None, None, 0, place),)
            yield Change("form", moves, 0, family, ("form", food.name), food, into, (finding.id,), form, must=True)
            return


def _row(
    ranked: Judged[Moves, float],
    items: list["PreparedItem"],
    labels: Mapping[str, str],
    may_have: MayHave,
    asked: LunchCheckRequest,
    *,
    packed: bool,
) -> dict[str, Any]:
    """A change as published; ``packed``: whether the lunch may be packed after it, else there is no score to show."""
    change = ranked.change
    (move,) = change.where
    of = None if move.item is None else items[move.item]
    return {
        "of": of,
        **change_row(change, _said(change, of, may_have, asked)),
        "mends": list(ranked.all_fixes),
        "mends_labels": [labels[target] for target in ranked.fixes],
        "score_after": ranked.after if packed else None,
    }


def _said(change: LunchChange, of: "PreparedItem | None", may_have: MayHave, asked: LunchCheckRequest) -> Message:
    """The change in words; ``of``: the item that goes or changes."""
    into, out = change.into, change.out
    if change.kind == "read" and out is not None:
        names = vocabulary().allergens
        avoided = [names[one.partition(":")[2]].name for one in change.fixes_beside]
        return message("change.read-label", names=_labels_to_read(out, may_have, asked), allergens=avoided)
    rules = handling_rules()
    if change.kind == "keep":
        figure = holding_figure(rules, "cold_sources", may_have.regions)
        return message("change.keep", keep=figure.sentence)
    if into is None:
        return message("change.leave-out", name="" if out is None else out.name)
    if change.kind == "form" and out is not None:
        prepare = rules.choking[out.handling.choking_rule].prepare
        return message("change.form", name=out.name, form=rules.in_words(change.form or ""), prepare=prepare)
    if change.kind == "portion" and out is not None and of is not None:
        return message("change.portion", name=out.name, quantity=into.quantity, unit=into.unit, before=of.quantity)
    form = rules.in_words(into.form) if into.form and may_have.cut_asked_for(into.food, into.form) else None
    food, quantity, unit = into.food.name, into.quantity, into.unit
    if out is None:
        if form is not None:
            return message("change.add-cut", name=food, quantity=quantity, unit=unit, form=form)
        return message("change.add", name=food, quantity=quantity, unit=unit)
    if form is not None:
        return message("change.swap-cut", name=out.name, other=food, quantity=quantity, unit=unit, form=form)
    return message("change.swap", name=out.name, other=food, quantity=quantity, unit=unit)
