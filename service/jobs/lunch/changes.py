"""Up to five single changes to a lunch, out of the foods at hand, that fix most.

Never one that brings in a food which the child or the setting must avoid, a choking form, a sweet or savoury snack, or a
product over its own limit; never one that breaks a target that was met or lowers the score, but where it takes away what
forbids packing the lunch: such changes come alone. A food whose label is still to be read comes in only in the place of one
that must not be packed, and where nothing else would do: the change then says what to read.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

from service.domain.allergens.screening import Avoidance, Outcome
from service.domain.errors import LunchError
from service.domain.foods.amounts import ItemVector, Portion, amount_mg_of, credited_as, item_vector
from service.domain.foods.crediting import CreditingScheme
from service.domain.foods.food import Food
from service.domain.lunch.changing.changes import (
    Judged,
    LunchChange,
    Move,
    Moves,
    adding,
    cutting,
    keeping,
    leaving_out,
    portioning,
    reading,
    swapping,
)
from service.domain.lunch.changing.ranking import LunchScoring, TakenOff, rank_changes
from service.domain.lunch.changing.too_much import far_too_much, is_at_fault
from service.domain.lunch.findings import Judgement
from service.domain.lunch.handling import Held, holding_findings
from service.domain.lunch.points_off import scored_vector, taken_by_products, taken_by_sweets
from service.domain.lunch.special_rules import broken_rules
from service.domain.lunch.standards import Target, TargetTable
from service.domain.measures import THOUSANDTHS
from service.jobs.foods.at_hand import foods_named
from service.jobs.foods.packets import packets_at_hand
from service.jobs.lunch.change_rows import change_row
from service.jobs.lunch.change_words import said
from service.jobs.lunch.may_have import CLEAR, GRADES, MayHave, dangers, unread, usual_in
from service.jobs.lunch.resolve import holding_of
from service.jobs.requests.lunches import LunchCheckRequest
from service.reference.foods.suggesting import suggesting
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
    """The best single changes as published rows, best first.

    For a lunch that must not be packed only those that take a danger away, whatever target they break; for a label
    that was not read, reading it comes first and is never a reason to leave the food out.
    """
    packets = packets_at_hand(asked.packets, asked.on, asked.salts_cooking_water)
    may_have = MayHave(table, tuple(avoidances), age_months, tuple(asked.regions), packets)
    wrong_with = [dangers(item, may_have) for item in items]
    named = foods_named(asked.offer, packets) if asked.offer else None
    make = _Making(items, may_have, named, table, far_too_much(judgements))
    if any(wrong_with):
        changes = [
            one for place, wrong in enumerate(wrong_with) if wrong for one in make.without_danger(place, wrong, asked)
        ]
    else:
        changes = make.better(asked)
    changes = [replace(change, ahead=make.ahead(change)) for change in changes]
    scoring = _scoring(asked, table, items, changes)
    vectors = [item.vector for item in items]
    ranked = rank_changes(table.targets, judgements, vectors, changes, asked.max_changes, scoring)
    labels = {target.id: target.label for target in table.targets}
    rows = []
    for one in ranked:
        left = list(wrong_with)
        (move,) = one.change.where
        if move.item is not None:
            left[move.item] = tuple(wrong for wrong in left[move.item] if wrong not in one.change.fixes_beside)
        rows.append(_row(one, items, labels, may_have, packed=not any(left)))
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
    """What the changes to a lunch are made of.

    ``named``: the foods at hand, None: the everyday lunch foods; ``too_much``: the targets of which the lunch has far too much.
    """

    items: list["PreparedItem"]
    may_have: MayHave
    named: Sequence[Portion] | None
    table: TargetTable
    too_much: Sequence[Target]

    @property
    def scheme(self) -> CreditingScheme | None:
        return crediting_scheme(self.table.standard.crediting)

    def without_danger(self, place: int, wrong: tuple[str, ...], asked: LunchCheckRequest) -> Iterator[LunchChange]:
        """Whatever takes away what is wrong with one item: another form, another food, or none."""
        item = self.items[place]
        moves = self._moves(place)
        choking = tuple(one for one in wrong if not one.startswith("allergen:"))
        if into := self.may_have.cut_another_way(item.food, item):
            yield replace(cutting((Move(None, None, 0, place),), into, choking), must=True)
        if len(self.items) > 1:
            yield replace(leaving_out(item.food, moves, item.amount_mg, wrong), must=True)
        for one in swaps(item.food, moves, item.amount_mg, self._stand_ins(place), self.scheme, wrong, any_kind=True):
            yield replace(one, family=("swap", item.food.name, one.key[-1]), must=True)

    def _stand_ins(self, place: int) -> Sequence[Portion]:
        """What may take the place of an item that must not be packed; of the only item, if nothing is like it, any food."""
        item, there = self.items[place], self._beside(place)
        lists = suggesting()
        graded = [
            [
                one
                for one in self._for_swaps(grade)
                if one.food not in there and lists.goes_with(one.food, there, item.food)
            ]
            for grade in GRADES
        ]
        return lists.stand_ins(item.food, graded) or (graded[0] if self.named or not there else [])

    def _for_swaps(self, evidence: Outcome = CLEAR) -> Sequence[Portion]:
        """The foods at hand, with those that come in only in the place of another."""
        at_hand = self.may_have.foods_at_hand(self.named, evidence)
        if self.named is not None:
            return at_hand
        return [*at_hand, *self.may_have.foods_at_hand(foods_named(sorted(suggesting().only_instead)), evidence)]

    def better(self, asked: LunchCheckRequest) -> list[LunchChange]:
        """Labels to read, other portions, foods left out, other foods in their place, and foods added."""
        lists, scheme = suggesting(), self.scheme
        for_swaps = self._for_swaps()
        changes: list[LunchChange] = list(self.keeping_cold(asked))
        for place, item in enumerate(self.items):
            moves = self._moves(place)
            to_read = unread(item.food, self.may_have)
            if to_read:
                usual = usual_in(item, self.may_have)
                changes.append(reading(item.food, place, to_read, usual=usual))
            more = self.may_have.more_of(item.food, item.form)
            changes += self._portions(item, moves, self._same_beside(place), more=more)
            if len(self.items) > 1:
                changes.append(leaving_out(item.food, moves, item.amount_mg))
            there = self._beside(place)
            fitting = [
                one for one in for_swaps if one.food not in there and lists.goes_with(one.food, there, item.food)
            ]
            broken = broken_rules(self.table, item.food)
            like = [one for one in fitting if broken and lists.like_product(one.food, item.food)]
            changes += swaps(item.food, moves, item.amount_mg, like, scheme, broken, any_kind=True)
            fitting = [one for one in fitting if one not in like]
            changes += swaps(item.food, moves, item.amount_mg, fitting, scheme, any_kind=bool(asked.offer))
        foods = [item.food for item in self.items]
        named = {(food.id, food.name) for food in foods}
        for one in self.may_have.foods_at_hand(self.named):
            if (one.food.id, one.food.name) not in named and lists.goes_with(one.food, foods):
                changes.append(adding(one, (Move(None, one.vector(scheme)),)))
        return changes

    def ahead(self, change: LunchChange) -> float:
        """By how many points of the score a change comes before others (below 0: behind them)."""
        if change.kind not in ("add", "swap") or change.into is None:
            return 0.0
        (move,) = change.where
        beside = self._beside(move.item)
        # In the place of what must not be packed a food comes in as if that had not been there.
        out = None if change.must else change.out
        at_fault = move.out is not None and is_at_fault(move.out, self.too_much)
        return suggesting().points_for(out, change.into.food, beside, named=self.named is not None, at_fault=at_fault)

    def keeping_cold(self, asked: LunchCheckRequest) -> Iterator[LunchChange]:
        """Cold packs and an insulated bag, where these are all that is wrong with how the lunch is kept."""
        held = [(item.food, item.held) for item in self.items]
        if any(one == "ambient" for _food, one in held):
            return
        found = holding_findings(handling_rules(), held, holding_of(asked.lunch.holding), self.may_have.regions)
        if [one.id for one in found if one.status == "fix"] == ["holding:cold"]:
            yield keeping("holding:cold")

    def _portions(self, item: "PreparedItem", moves: Moves, beside_mg: int, *, more: bool) -> Iterator[LunchChange]:
        """Other portions of an item; ``more``: whether larger ones too; ``beside_mg``: of the same food in other items."""
        for quantity in suggesting().other_quantities(item.food, item.quantity, item.unit, self.may_have.age_months):
            if quantity > item.quantity and not more:
                continue
            try:
                amount = amount_mg_of(item.food, round(quantity * THOUSANDTHS), item.unit)
            except LunchError:
                continue  # a portion too large to be one item is not a candidate
            into = Portion(item.food, amount, quantity, item.unit, item.form, item.option)
            made = tuple(move._replace(into=into.vector(self.scheme, beside_mg)) for move in moves)
            size = abs(amount - item.amount_mg)
            yield portioning(item.food, made, size, into, quantity, more=quantity > item.quantity, times=None)

    def _same_beside(self, place: int) -> int:
        """Milligrams of the same food in the other items."""
        same = [(item.amount_mg, credited_as(item.food, item.option)) for item in self.items]
        return sum(mg for other, (mg, food) in enumerate(same) if other != place and food == same[place][1])

    def _moves(self, place: int) -> Moves:
        """An item going out, with the credits that the lunch has by it."""
        item, beside_mg = self.items[place], self._same_beside(place)
        out = item_vector(item.food, item.amount_mg, self.scheme, item.option, beside_mg) if beside_mg else item.vector
        return (Move(out, None, 0, place),)

    def _beside(self, place: int | None) -> list[Food]:
        return [item.food for other, item in enumerate(self.items) if other != place]


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
    """Each food at hand in the place of one; ``any_kind``: also of another sort."""
    lists = suggesting()
    for other in at_hand:
        if (other.food.id, other.food.name) != (food.id, food.name) and (
            any_kind or lists.takes_place_of(food, other.food)
        ):
            vector = other.vector(scheme)
            made = tuple(move._replace(into=vector) for move in moves)
            change = swapping(food, made, amount_mg, other, fixes_beside)
            # One thing in the place of a sweet or a snack is enough.
            yield replace(change, family=change.family[:2]) if food.discretionary else change


def _row(
    ranked: Judged[Moves, float],
    items: list["PreparedItem"],
    labels: Mapping[str, str],
    may_have: MayHave,
    *,
    packed: bool,
) -> dict[str, Any]:
    """A change as published; ``packed``: whether the lunch may be packed after it, else there is no score to show."""
    change = ranked.change
    (move,) = change.where
    of = None if move.item is None else items[move.item]
    return {
        "of": of,
        **change_row(change, said(change, of, may_have)),
        "mends": list(ranked.all_fixes),
        "mends_labels": [labels[target] for target in ranked.fixes],
        "less_of": [labels[target] for target in ranked.eases],
        "score_after": ranked.after if packed else None,
    }
