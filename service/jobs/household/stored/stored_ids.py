"""Ids of stored records in a request, resolved: what the checks read is the same as if it had all been sent along.

A food's id becomes its label or recipe; a child's what a check asks of a child; a lunch's and an offer's their parts.
"""

from typing import overload
from uuid import UUID

from pydantic import BaseModel

from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.household.stored.resolving import Resolving
from service.jobs.offers.requests import (
    OfferAuditRequest,
    OfferAuditWithIds,
)
from service.jobs.plan.labels.requests import LabelSheetRequest, LabelSheetWithIds
from service.jobs.plan.prep.requests import PrepSheetRequest, PrepSheetWithIds
from service.jobs.plan.requests import (
    OfferDesignRequest,
    OfferDesignWithIds,
    PortionNeedsRequest,
    PortionNeedsWithIds,
)
from service.jobs.plan.shopping.requests import ShoppingListRequest, ShoppingListWithIds
from service.jobs.plan.weeks.requests import PlanRequest, PlanWithIds
from service.jobs.requests.lunches import LunchCheckRequest, LunchCheckWithIds
from service.jobs.requests.screenings import (
    ScreeningRequest,
    ScreeningWithIds,
)
from service.jobs.tables.request import LunchTableRequest
from service.jobs.weeks.requests import WeekRequest, WeekWithIds
from service.store.household.records import Connection


@overload
def with_ids_resolved(connection: Connection, household: UUID, asked: LunchCheckWithIds) -> LunchCheckRequest: ...
@overload
def with_ids_resolved(connection: Connection, household: UUID, asked: ScreeningWithIds) -> ScreeningRequest: ...
@overload
def with_ids_resolved(connection: Connection, household: UUID, asked: OfferAuditWithIds) -> OfferAuditRequest: ...
@overload
def with_ids_resolved(connection: Connection, household: UUID, asked: WeekWithIds) -> WeekRequest: ...
@overload
def with_ids_resolved(connection: Connection, household: UUID, asked: LunchTableRequest) -> LunchTableRequest: ...
@overload
def with_ids_resolved(connection: Connection, household: UUID, asked: PortionNeedsWithIds) -> PortionNeedsRequest: ...
@overload
def with_ids_resolved(connection: Connection, household: UUID, asked: OfferDesignWithIds) -> OfferDesignRequest: ...
@overload
def with_ids_resolved(connection: Connection, household: UUID, asked: PlanWithIds) -> PlanRequest: ...
@overload
def with_ids_resolved(connection: Connection, household: UUID, asked: ShoppingListWithIds) -> ShoppingListRequest: ...
@overload
def with_ids_resolved(connection: Connection, household: UUID, asked: PrepSheetWithIds) -> PrepSheetRequest: ...
@overload
def with_ids_resolved(connection: Connection, household: UUID, asked: LabelSheetWithIds) -> LabelSheetRequest: ...
@overload
def with_ids_resolved(connection: Connection, household: UUID, asked: BaseModel) -> BaseModel: ...
def with_ids_resolved(connection: Connection, household: UUID, asked: BaseModel) -> BaseModel:
    """A validated request with every id of a stored record in it resolved.

    A stored child brings its standard and its school's bans to a lunch check or a week that gives none; in a screening
    and an audit its bans are among what it avoids, and it does not take what it dislikes. Raises ``NotThere`` for each
    id that this household does not keep, all of them together.
    """
    resolving = Resolving(KeptThings(connection, household))
    if isinstance(asked, LunchCheckWithIds):
        done: BaseModel = resolving.lunch_check(asked)
    elif isinstance(asked, ScreeningWithIds):
        done = resolving.screening(asked)
    elif isinstance(asked, OfferAuditWithIds):
        done = resolving.audit(asked)
    elif isinstance(asked, PortionNeedsWithIds):
        done = resolving.portion_needs(asked)
    elif isinstance(asked, OfferDesignWithIds):
        done = resolving.offer_design(asked)
    elif isinstance(asked, PlanWithIds):
        done = resolving.plan(asked)
    elif isinstance(asked, ShoppingListWithIds):
        done = resolving.shopping_list(asked)
    elif isinstance(asked, PrepSheetWithIds):
        done = resolving.kitchen(PrepSheetRequest, asked)
    elif isinstance(asked, LabelSheetWithIds):
        done = resolving.kitchen(LabelSheetRequest, asked)
    elif isinstance(asked, WeekWithIds):
        done = resolving.week(asked)
    elif isinstance(asked, LunchTableRequest):
        done = resolving.table(asked)
    else:
        raise TypeError(type(asked))
    resolving.raise_faults()
    return done
