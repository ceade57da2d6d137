"""What a week's lunches of a household cost: each child's, and all together, packed against bought."""

from collections.abc import Sequence
from datetime import timedelta
from fractions import Fraction
from typing import Any
from uuid import UUID

from service.domain.weeks.cost import KindCost, PriceBook, WeekCost, rounded, week_cost
from service.domain.weeks.words import household_cost_message
from service.jobs.household.lunch.judged_by import LoggedDays
from service.jobs.household.requests import KeptChild, KeptLunch
from service.jobs.household.stored.kept_prices import kept_prices
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.household.stored.stored_ids import with_ids_resolved
from service.jobs.weeks.cost_rows import decimals_of, not_counted_rows, own_price_days
from service.jobs.weeks.days import school_weeks
from service.jobs.weeks.prices import price_book
from service.jobs.weeks.requests import WeekWithIds, monday_of
from service.reference.messages import worded
from service.store.household.kinds import CHILD
from service.store.household.lunches import bodies_of_days
from service.store.household.records import Connection, Record, page

MOST_CHILDREN = 100
"""Children of a household whose lunches are added up."""


def household_costs(connection: Connection, household: UUID, week: str) -> dict[str, Any] | None:
    """What a week's lunches cost, packed and bought, for each child and together; None where no price is stored.

    ``own_price_lunches``: how many lunches were bought at the child's own price, not the menu's.
    Amounts are in minor units of ``currency``, which has ``digits`` decimals; ``complete``: everything has a price.
    ``not_counted``: prices in another currency.
    Raises ``BadInput`` for a week that its year does not have.
    """
    children = page(connection, CHILD, household, None, MOST_CHILDREN)
    book = _prices_of(connection, household, week, children)
    if book is None:
        return None
    costs = _costs_of_children(connection, household, week, children, book)
    return {
        "week": week,
        "currency": book.currency,
        "digits": decimals_of(book.currency),
        "children": [
            {
                "id": str(child.id),
                "nickname": child.body["nickname"],
                "packed": _kind_row([cost.packed]),
                "bought": _kind_row([cost.bought]),
                "own_price_lunches": own_price_days(cost),
            }
            for child, cost in costs
        ],
        "packed": _kind_row([cost.packed for _child, cost in costs]),
        "bought": _kind_row([cost.bought for _child, cost in costs]),
        "unpriced": sorted({name for _child, cost in costs for name in cost.unpriced}),
        "not_counted": _not_counted(costs, book.currency),
    }


def cost_of_all(connection: Connection, household: UUID, week: str) -> dict[str, Any] | None:
    """What all children's lunches of a week cost together, as a child's week tells it; None where no price is stored.

    Raises ``BadInput`` as ``household_costs`` does.
    """
    children = page(connection, CHILD, household, None, MOST_CHILDREN)
    book = _prices_of(connection, household, week, children)
    if book is None:
        return None
    costs = _costs_of_children(connection, household, week, children, book)
    exact = sum((cost.exact for _child, cost in costs), Fraction(0))
    unpriced = sorted({name for _child, cost in costs for name in cost.unpriced})
    said = household_cost_message(book.currency, decimals_of(book.currency), len(costs), rounded(exact), not unpriced)
    return {
        "children": [
            {
                "id": str(child.id),
                "nickname": child.body["nickname"],
                "amount_minor": rounded(cost.exact),
                "complete": not cost.unpriced,
                "own_price_lunches": own_price_days(cost),
            }
            for child, cost in costs
        ],
        "amount_minor": rounded(exact),
        "unpriced": unpriced,
        "not_counted": _not_counted(costs, book.currency),
        **worded(said),
    }


def _not_counted(costs: Sequence[tuple[Record, WeekCost]], currency: str) -> list[dict[str, Any]]:
    """The prices in another currency, each once."""
    found = dict.fromkeys(one for _child, cost in costs for one in cost.not_counted)
    return not_counted_rows(found, currency, [child.body["nickname"] for child, _cost in costs])


def _kind_row(costs: Sequence[KindCost]) -> dict[str, Any]:
    days = sum(one.days for one in costs)
    exact = sum((one.exact for one in costs), Fraction(0))
    return {
        "lunches": days,
        "amount_minor": rounded(exact),
        "a_lunch_minor": rounded(exact / days) if days else None,
        "complete": all(one.complete for one in costs if one.days),
    }


def _prices_of(connection: Connection, household: UUID, week: str, children: Sequence[Record]) -> PriceBook | None:
    """The prices of a week; those of single children by their place."""
    monday, ids = monday_of(week), [str(one.id) for one in children]
    return price_book(*kept_prices(connection, household, monday, monday + timedelta(days=6), ids))


def _costs_of_children(
    connection: Connection, household: UUID, week: str, children: Sequence[Record], book: PriceBook
) -> list[tuple[Record, WeekCost]]:
    """Each child of a household with what its lunches of a week cost."""
    monday, kept = monday_of(week), KeptThings(connection, household)
    found: list[tuple[Record, WeekCost]] = []
    for place, child in enumerate(children):
        bodies = bodies_of_days(connection, household, child.id, monday, monday + timedelta(days=6))
        logged = LoggedDays(
            kept, KeptChild.model_validate(child.body), [KeptLunch.model_validate(one) for one in bodies]
        )
        with_ids = WeekWithIds(child=str(child.id), week=week, days=logged.days)
        days = school_weeks(with_ids_resolved(connection, household, with_ids), "", "primary")[-1]
        found.append((child, week_cost(days.to_price(), book, place)))
    return found
