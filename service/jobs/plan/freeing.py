"""Which everyday food, set out besides the others, would free a row that stands in the way of an offer."""

from collections.abc import Iterator
from typing import Any

from service.domain.allergens.screening import screen_food
from service.domain.offers.handled import broken_of
from service.domain.plan.robust import InTheWay, least_worst
from service.jobs.foods.at_hand import everyday_foods
from service.jobs.offers.layout import ChildOffer
from service.jobs.plan.design_resolve import Measured, rows_and_values
from service.planning.offer_model import ChildToServe
from service.reference.allergens.vocabulary import vocabulary
from service.reference.lunch.standards import crediting_scheme

MOST_SHOWN = 3
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


def _freeing(laid_out: ChildOffer, child: ChildToServe, blocked: InTheWay) -> Iterator[tuple[int, dict[str, Any]]]:
    scheme = crediting_scheme(laid_out.table.standard.crediting)
    portions = [
        portion._replace(quantity=times * portion.quantity, amount_mg=round(times * portion.amount_mg))
        for times in TIMES
        for portion in everyday_foods()
        if not any(screen_food(vocabulary(), portion.food, one).keeps_out for one in laid_out.avoidances)
    ]
    handled = [broken_of(laid_out.to_handle.findings(one.food, one.form, "cold")) for one in portions]
    measured = [Measured(one.food, one.vector(scheme), against) for one, against in zip(portions, handled, strict=True)]
    rows, _means, columns = rows_and_values(laid_out.table, measured)
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
