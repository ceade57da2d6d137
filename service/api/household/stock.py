"""The stock beside its records: what happens to an entry, and what there is on a day."""

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Query, Request, Response
from pydantic import Field

from service.api.answers import AS_JSON, BODY_FAULTS, ETAG, V1, NoParameters, Parameters, json_reply, problems
from service.api.bodies import Sent, SentJson
from service.api.conditions import EditedFrom, RepeatKey, etag
from service.api.gate.callers import Keeper, Reader
from service.api.household.records import CREATED, TAG, request_hash
from service.api.household.replies import StockEventPage, StockEventReply
from service.api.replies import AsCode, AsCodes, ReplyModel
from service.jobs.household.once import Made, carry_out
from service.jobs.household.stock.happened import events_shown, stock_event
from service.jobs.household.stock.requests import StockEventAsked
from service.jobs.household.stock.summary import stock_summary
from service.jobs.requests.fields import Day
from service.jobs.word_lists import Place

router = APIRouter(prefix=V1, dependencies=AS_JSON, tags=[TAG])

StockId = Annotated[
    str,
    Path(
        alias="stock_entry_id",
        description="Id of the stock entry; GET /v1/stock lists them with their ids.",
        json_schema_extra={"format": "uuid"},
    ),
]


class SummaryQuery(Parameters):
    """For which day."""

    on: Day | None = Field(None, description="The day, YYYY-MM-DD; left out: today.")


class OfEntry(ReplyModel):
    """A stock entry in short."""

    id: str = Field(description="Id of the entry.")
    food: str = Field(description="Id of its food.")
    name: str = Field(description="What its food is called.")
    place: Place
    portions: float = Field(description="How many portions there are.")
    grams: float = Field(description="The same in grams.")
    use_by: str | None = Field(description="The last day to use it, YYYY-MM-DD; null: not known.")
    days_left: int | None = Field(description="Days until then; less than 0: it is past its date; null: not known.")


class OverEntry(OfEntry):
    """An entry whose day is past."""

    sentence: str = Field(description="What to do, in English.")
    sentence_message: AsCode


class OfferWith(ReplyModel):
    """A stored offer that has a food."""

    id: str = Field(description="Id of the offer.")
    name: str = Field(description="Its name.")


class ToUseUp(OverEntry):
    """An entry that ends soon."""

    offers: list[OfferWith] = Field(description="The stored offers that have its food.")


class InPlace(ReplyModel):
    """How much of a food is in one place."""

    place: Place
    portions: float = Field(description="How many portions.")


class FoodInStock(ReplyModel):
    """What there is of one food."""

    food: str = Field(description="Id of the food.")
    name: str = Field(description="What it is called.")
    portions: float = Field(description="How many portions there are in all places.")
    grams: float = Field(description="The same in grams.")
    places: list[InPlace] = Field(description="Where they are.")
    ends_first: str | None = Field(
        description="The first day on which some of it ends in fridge or cupboard, YYYY-MM-DD; null: none is known."
    )
    over: bool = Field(description="Whether some of it is past its date.")


class FromEntry(ReplyModel):
    """How much to move of one entry."""

    id: str = Field(description="Id of the entry in the freezer.")
    portions: float = Field(description="How many portions.")
    grams: float = Field(description="The same in grams.")


class ToMove(ReplyModel):
    """What to move from the freezer to the fridge this evening."""

    food: str = Field(description="Id of the food.")
    name: str = Field(description="What it is called.")
    portions: float = Field(description="How many portions to move.")
    missing_portions: float = Field(description="How many more the rule wants than the freezer has.")
    ready_on: str = Field(description="The morning on which they are thawed, YYYY-MM-DD.")
    thaw_hours: float = Field(description="Hours that it takes to thaw in the fridge.")
    sources: list[FromEntry] = Field(alias="from", description="From which entries.")
    sentences: list[str] = Field(description="The same in sentences of English.")
    sentence_messages: AsCodes


class StockSummary(ReplyModel):
    """The stock of a day."""

    on: str = Field(description="The day, YYYY-MM-DD.")
    foods: list[FoodInStock] = Field(description="What there is, by the names of the foods.")
    ends_first: list[OfEntry] = Field(
        description="Entries in fridge or cupboard whose day is known, the soonest first; those that are over are not here."
    )
    over: list[OverEntry] = Field(description="Entries whose day is past.")
    tonight: list[ToMove] = Field(
        description="What to move from the freezer this evening, so that what keep_in_fridge of the household says is there."
    )
    use_up: list[ToUseUp] = Field(description="Entries that end within two days, with the offers that have their food.")


@router.get(
    "/stock-summary",
    response_model=StockSummary,
    responses=problems(),
    summary="What there is, what ends first, what to move tonight",
    operation_id="sum-up-stock",
)
def get_summary(caller: Reader, query: Annotated[SummaryQuery, Query()]) -> Response:
    """What there is of each food and where, what ends first, what is past its date, what to take out of the freezer this
    evening, and what to use up in which offers."""
    with caller.store.reading() as connection:
        return json_reply(stock_summary(connection, caller.household, query.on))


@router.get(
    "/stock/{stock_entry_id}/events",
    response_model=StockEventPage,
    responses=problems(400, 404),
    summary="What happened to a stock entry",
    operation_id="list-stock-events",
)
def get_events(caller: Reader, _none: NoParameters, record_id: StockId) -> Response:
    """Everything that happened to a stock entry, oldest first; how much there is of it is their sum."""
    with caller.store.reading() as connection:
        return json_reply(events_shown(connection, caller.household, record_id))


@router.post(
    "/stock/{stock_entry_id}/events",
    status_code=CREATED,
    response_model=StockEventReply,
    responses=problems(*BODY_FAULTS, 403, 404, 409, 412, 428) | {CREATED: {"headers": ETAG}},
    summary="Report what happened to a stock entry",
    operation_id="keep-stock-event",
)
def post_event(
    request: Request,
    key: RepeatKey,
    matches: EditedFrom,
    caller: Keeper,
    sent: Annotated[Sent, Depends(SentJson(StockEventAsked))],
    record_id: StockId,
) -> Response:
    """Made more, moved, taken, thrown away or counted again. A dish of which more is made takes what is in it from the stock. A part that is moved becomes an entry of its own. With Idempotency-Key, a
    request sent again within a day is answered again, not carried out again."""

    def happen(connection: Any) -> Made:
        body, version = stock_event(connection, caller.household, record_id, matches, sent.asked)
        return Made(CREATED, body, {"ETag": etag(version)})

    made = carry_out(caller.store, caller.household, key, request_hash(request, sent.body), happen)
    return json_reply(made.body, made.status, made.headers)
