"""Which everyday food, set out besides the others, would free a row that stands in the way of an offer."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from service.domain.allergens.screening import screen_food
from service.domain.foods.amounts import Portion
from service.domain.foods.food import Food
from service.domain.offers.handled import broken_of
from service.domain.plan.robust import InTheWay, Sized, in_the_way, least_worst, too_few
from service.jobs.foods.at_hand import drinks_like_milk, everyday_foods
from service.jobs.offers.layout import ChildOffer
from service.jobs.plan.designs.resolve import Measured, rows_and_values
from service.planning.offer_model import ChildToServe
from service.reference.allergens.vocabulary import vocabulary
from service.reference.lunch.standards import crediting_scheme

MOST_SHOWN = 3
DRINKS = frozenset({"drinks", "milk", "plant-drinks"})
"""Kinds of which one stands in for another."""
TIMES = (1.0, 1.5, 2.0)
"""How many usual portions are tried, the usual one first; ours."""


def freeing_foods(laid_out: ChildOffer, child: ChildToServe, blocked: InTheWay) -> list[dict[str, Any]]:
    """Foods of which one more in a group would let the row be kept, in the smallest amount that does; none that the child avoids.

    Each with its group, in which there is a food of its kind. Only one row is looked at: another may stand in the way after it.
    """
    found = sorted(_freeing(laid_out, child, blocked), key=lambda one: (one[1]["quantity"], one[0]))
    rows: dict[str, dict[str, Any]] = {}
    for _over, row in found:
        rows.setdefault(row["food"], row)
    return list(rows.values())[:MOST_SHOWN]


def foods_for_group(laid_out: ChildOffer, child: ChildToServe, group: str) -> list[dict[str, Any]]:
    """Foods of the kinds of a group that the child may have, each in its usual portion, with which no row stands in the way.

    None where every such food leaves a row that no choice keeps: then no food of these kinds helps.
    """
    some = [one for one in _for_child(laid_out, (1.0,)) if _is_like(laid_out, group, one.food)]
    rows, _means, columns = rows_and_values(laid_out.table, _measured(laid_out, some))

    def helps(values: tuple[int, ...]) -> bool:
        added = Sized(0, tuple(values[rows.index(row)] for row in child.rows))
        groups = [replace(one, choices=min(one.choices, max(1, one.least))) for one in child.groups]
        groups = [
            replace(one, foods={**one.foods, "": (added,)}, choices=max(1, one.least)) if one.group == group else one
            for one in groups
        ]
        return not too_few(groups) and not in_the_way(child.rows, groups)

    return [
        {
            "group": group,
            "food": one.food.id,
            "name": one.food.name,
            "quantity": one.quantity,
            "unit": one.unit,
        }
        for one, values in zip(some, columns, strict=True)
        if values is not None and helps(values)
    ][:MOST_SHOWN]


def packets_first(laid_out: ChildOffer, group: str) -> list[str]:
    """Names of foods of a group, and of others of its kinds, that the child may have if their packets say so once they are read."""
    names = [laid_out.items[one.key].food.name for one in laid_out.left_out if one.key[0] == group and one.read_first]
    for portion in _known_foods():
        if len(names) < MOST_SHOWN and _is_like(laid_out, group, portion.food):
            found = [screen_food(vocabulary(), portion.food, one) for one in laid_out.avoidances]
            if any(one.keeps_out for one in found) and not any(one.do_not_pack for one in found):
                names.append(portion.food.name)
    return names


def _is_like(laid_out: ChildOffer, group: str, food: Food) -> bool:
    """Whether a food is of a kind of a group, and not in it."""
    there = [one.food for (of, _key), one in laid_out.items.items() if of == group]
    kinds = {one.category for one in there}
    kinds |= DRINKS if kinds & DRINKS else set()
    return food.category in kinds and food.id not in {one.id for one in there}


def _known_foods() -> list[Portion]:
    """Everyday foods, and drinks in the place of milk."""
    return [*everyday_foods(), *drinks_like_milk()]


def _for_child(laid_out: ChildOffer, times: Sequence[float]) -> list[Portion]:
    """Everyday foods and drinks like milk that the child need not avoid, in so many usual portions."""
    return [
        portion._replace(quantity=each * portion.quantity, amount_mg=round(each * portion.amount_mg))
        for each in times
        for portion in _known_foods()
        if not any(screen_food(vocabulary(), portion.food, one).keeps_out for one in laid_out.avoidances)
    ]


def _measured(laid_out: ChildOffer, portions: Sequence[Portion]) -> list[Measured]:
    scheme = crediting_scheme(laid_out.table.standard.crediting)
    handled = [broken_of(laid_out.to_handle.findings(one.food, one.form, "cold")) for one in portions]
    return [Measured(one.food, one.vector(scheme), against) for one, against in zip(portions, handled, strict=True)]


def _freeing(laid_out: ChildOffer, child: ChildToServe, blocked: InTheWay) -> Iterator[tuple[int, dict[str, Any]]]:
    portions = _for_child(laid_out, TIMES)
    rows, _means, columns = rows_and_values(laid_out.table, _measured(laid_out, portions))
    at, there = child.rows.index(blocked.row), rows.index(blocked.row)
    together = sum(blocked.least.values())
    kinds = {
        group.group: {laid_out.items[(group.group, food)].food.category for food in group.foods}
        for group in child.groups
    }
    for portion, values in zip(portions, columns, strict=True):
        if values is None:
            continue
        for group in child.groups:
            if portion.food.category not in kinds[group.group]:
                continue
            others = [min(sized.values[at] for sized in sizes) for sizes in group.foods.values()]
            after = together - blocked.least[group.group] + least_worst([*others, values[there]], group)
            if after <= blocked.row.bound:
                shown = {"food": portion.food.id, "name": portion.food.name}
                yield after, {"group": group.group, **shown, "quantity": portion.quantity, "unit": portion.unit}
