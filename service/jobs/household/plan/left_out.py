"""What a program leaves out of a plan and the household knows: the stock, as the page of a new plan takes it."""

from collections.abc import Iterator
from datetime import date
from typing import Any
from uuid import UUID

from service.jobs.household.plan.start import stock_for
from service.jobs.plan.weeks.requests import PlanWithIds
from service.jobs.requests.fields import is_kept_id
from service.store.household.kinds import OFFER
from service.store.household.records import Connection, find


def with_stored_stock(connection: Connection, household: UUID, asked: PlanWithIds, on: date) -> PlanWithIds:
    """The plan with what there is of the foods of its offers and is still good on a day, where it says nothing of the stock; less what earlier plans need.

    ``ValidationError`` where there is more of it than a plan takes.
    """
    if "stock" in asked.model_fields_set:
        return asked
    foods = frozenset(_foods(connection, household, asked))
    stock = list(stock_for(connection, household, foods, on, min(asked.days)))
    if not stock:
        return asked
    return PlanWithIds.model_validate(
        {**asked.model_dump(by_alias=True, exclude_unset=True), "stock": stock}, strict=False
    )


def _foods(connection: Connection, household: UUID, asked: PlanWithIds) -> Iterator[str]:
    """The ids of the foods of the offers; an offer that is not here has none, and is refused later."""
    for one in asked.offers:
        offer: Any = one.offer
        if isinstance(offer, str):
            record = find(connection, OFFER, household, UUID(offer)) if is_kept_id(offer) else None
            groups = [] if record is None else record.body["groups"]
        else:
            groups = offer.model_dump(include={"groups"})["groups"]
        for group in groups:
            yield from (item["food"] for item in group["items"] if isinstance(item["food"], str))
