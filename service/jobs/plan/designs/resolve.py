"""Makes a design's request ready: for each child its rows, and what every food adds to them in each of its sizes."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from math import log2
from typing import NamedTuple

from service.domain.counting.masks import Tick
from service.domain.counting.spans import NO_END
from service.domain.errors import LunchError
from service.domain.foods.amounts import ItemVector
from service.domain.foods.food import Food
from service.domain.lunch.check import PreparedItem
from service.domain.lunch.standards import TargetTable
from service.domain.offers.branches import Branch, Key, Option
from service.domain.offers.rows import OfferItems, rows_of
from service.domain.plan.robust import Candidates, Row, Sized
from service.jobs.offers.layout import ChildOffer
from service.jobs.offers.portions import in_amount, names_of_children
from service.jobs.offers.requests import item_key
from service.jobs.offers.resolve import ResolvedAudit, resolve_audit
from service.jobs.plan.designs.cases import cases_of, refuse_hard_rules
from service.jobs.plan.requests import DesignGroup, DesignItem, OfferDesignRequest
from service.planning.offer_model import ChildToServe, MeanRow

SINGLE_ITEM = "single-item"
"""Id of the row that counts what speaks against single items: a product over its limit, a form, how it is kept."""
LARGEST = 1 << 50
"""What an unknown end is taken for in a row: far over every bound, and exact as a float."""


class ResolvedDesign(NamedTuple):
    """A request made ready. ``cases``: of all children, see `cases`. ``items``: each food by group and key, as it was asked for."""

    laid_out: list[ChildOffer]
    children: list[ChildToServe]
    cases: list[ChildToServe]
    items: Mapping[Key, DesignItem]


def quantities_of(item: DesignItem) -> list[float]:
    """The amounts in which a child may get a food, the one that is asked for first."""
    return list(dict.fromkeys([item.quantity, *item.quantities]))


def resolve_design(asked: OfferDesignRequest, tick: Tick | None = None) -> ResolvedDesign:
    """Look up everything the request names; ``LunchError`` (``ManyFaults`` for several) for what does not fit."""
    made = _resolved(asked, tick)
    refuse_hard_rules(made.children[0].whole)
    items = {(group.id, item_key(one.key, one.food)): one for group in asked.groups for one in group.items}
    children = []
    for name, one in zip(names_of_children(asked.children), made.children, strict=True):
        if tick is not None:
            tick()
        children.append(_to_serve(name, one, asked.groups, items))
    judged = list(_without_unjudged(made.children, children))
    cases = [case for one, child in zip(made.children, judged, strict=True) for case in cases_of(child, one.offer)]
    return ResolvedDesign(made.children, judged, cases, items)


def _resolved(asked: OfferDesignRequest, tick: Tick | None) -> ResolvedAudit:
    """The audit of all foods together; its faults have their place in the request of the design, which has no ``offer``."""
    try:
        return resolve_audit(asked.audit(), tick)
    except LunchError as fault:
        for one in fault.faults():
            one.pointer = one.pointer.removeprefix("/offer")
        raise


def _without_unjudged(laid_out: Sequence[ChildOffer], children: Sequence[ChildToServe]) -> Iterator[ChildToServe]:
    """The children without the foods that one of them may take and that cannot be judged for it: they would be set out for it too."""
    gone = {
        (group.group, key)
        for one, child in zip(laid_out, children, strict=True)
        for group in child.groups
        for key in one.offer.group(group.group).items
        if key not in group.foods
    }
    for child in children:
        groups = []
        for one in child.groups:
            foods = {food: sizes for food, sizes in one.foods.items() if (one.group, food) not in gone}
            groups.append(replace(one, foods=foods, choices=max(min(one.choices, len(foods)), one.least)))
        yield child._replace(groups=groups)


def _to_serve(
    name: str, one: ChildOffer, groups: Sequence[DesignGroup], items: Mapping[Key, DesignItem]
) -> ChildToServe:
    """A child with its rows, and what each food that it may have adds to them in each size."""
    left = {(group.id, key) for group in one.offer.groups for key in group.items}
    sized = {(key, size): made for key in left for size, made in enumerate(_in_sizes(one, key, items[key]))}
    measured = [
        Measured(made.food, made.vector, one.of.handled.get(key, (0, 0))) for (key, _size), made in sized.items()
    ]
    rows, means, columns = rows_and_values(one.table, measured)
    values = {which: values for which, values in zip(sized, columns, strict=True) if values is not None}
    candidates = []
    for group in groups:
        keys = [key for key in (item_key(item.key, item.food) for item in group.items) if (group.id, key) in left]
        take = one.whole.group(group.id).take
        foods = {
            key: tuple(
                Sized(size, values[((group.id, key), size)], abs(log2(quantity / items[(group.id, key)].quantity)))
                for size, quantity in enumerate(quantities_of(items[(group.id, key)]))
                if ((group.id, key), size) in values
            )
            for key in keys
        }
        foods = {key: sizes for key, sizes in foods.items() if sizes}
        choices = max(min(group.choices, len(foods)), take.at_least)
        candidates.append(Candidates(group.id, foods, take.at_least, take.at_most, take.repeats, choices))
    return ChildToServe(name, rows, candidates, means)


def _in_sizes(one: ChildOffer, key: Key, item: DesignItem) -> list[PreparedItem]:
    """A food that a child may have, in each of its amounts."""
    return [in_amount(one.items[key], quantity, one.table.standard.crediting) for quantity in quantities_of(item)]


class Measured(NamedTuple):
    """A food in an amount; ``handled``: how many findings on its form and holding count against it, for certain and at most."""

    food: Food
    vector: ItemVector
    handled: tuple[int, int]


def rows_and_values(
    table: TargetTable, measured: Sequence[Measured]
) -> tuple[list[Row], list[MeanRow], list[tuple[int, ...] | None]]:
    """The rows of an audit as sums that must not be over a bound, then those of the week's means; and what each food adds to them.

    Where a bound counts only if it is broken for certain, the end of an item's interval that keeps it counts, otherwise the
    other one: as in the audit. None for a food with an unknown figure that can break a row.
    """
    if not measured:
        return [], [], []
    keys = [("", str(place)) for place in range(len(measured))]
    of = OfferItems(
        {key: one.vector for key, one in zip(keys, measured, strict=True)},
        {key: one.food for key, one in zip(keys, measured, strict=True)},
        {key: one.handled for key, one in zip(keys, measured, strict=True)},
    )
    branch = Branch((tuple(Option("", (key[1],)) for key in keys),))
    lows, highs, _sizes = of.values(table, branch)
    limits = of.limits(table, branch)
    labels = [(target.id, target.label) for target in table.targets] + [(SINGLE_ITEM, "")]
    rule = table.standard.points_off.energy_rule
    labels += [] if rule is None else [(rule.id, rule.label)] * (len(limits) - len(labels))
    rows: list[Row] = []
    columns: list[list[int]] = []
    for (row_id, label), (place, asks) in zip(labels, limits, strict=True):
        low, high = lows[place].tolist(), highs[place].tolist()
        if asks.at_most is not None:
            rows.append(Row(row_id, label, asks.at_most))
            columns.append(low if asks.only_if_certain else high)
        if asks.at_least is not None:
            rows.append(Row(row_id, label, -asks.at_least, short=True))
            columns.append([-value for value in (high if asks.only_if_certain else low)])
    means: list[MeanRow] = []
    for target, (place, asks) in zip(table.targets, rows_of(table).own, strict=True):
        if target.firm:
            continue
        for bound, sign in ((asks.at_most, 1), (asks.at_least, -1)):
            if bound is not None:
                means.append(MeanRow(len(columns), sign * bound))
                columns.append([sign * value for value in lows[place].tolist()])
    return (
        rows,
        means,
        [
            tuple(max(-LARGEST, min(LARGEST, column[place])) for column in columns)
            if all(column[place] < NO_END for column in columns[: len(rows)])
            else None
            for place in range(len(measured))
        ],
    )
