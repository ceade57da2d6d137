"""Which packets to read first."""

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Query, Response
from pydantic import Field

from service.api.answers import OF_IDS, V1, Parameters, StoredIds, json_reply, problems
from service.api.gate.callers import Reader
from service.api.household.records import TAG, today_here
from service.api.replies import ReplyModel, SaidMessage
from service.jobs.household.packets.packets_to_read import Asked, packets_to_read
from service.jobs.requests.fields import Day

router = APIRouter(prefix=V1, tags=[TAG])


class ToReadQuery(Parameters):
    """For whom, and what is looked at."""

    children: StoredIds | None = Field(None, description=f"Only for these children. {OF_IDS}")
    offer: StoredIds | None = Field(None, description=f"Only what these offers set out. {OF_IDS}")
    on: Day | None = Field(None, description="The day on which packets must hold, YYYY-MM-DD; left out: today.")


class ForChild(ReplyModel):
    """A child for whom a packet is worth reading."""

    id: str = Field(description="Id of the child.")
    nickname: str = Field(description="Its nickname.")
    allergens: list[str] = Field(description="Ids of the allergens to look for.")


class HouseholdPacketToRead(ReplyModel):
    """A food whose packet is worth reading."""

    food: str = Field(description="Its id, to store the packet under.")
    name: str = Field(description="Its name.")
    lunches: int = Field(
        description="How many lunches depend on it: those logged, and all that the offers allow, as an offer audit counts them. "
        "Where no audit can be made for a child, each item of the offer that holds the food counts as one."
    )
    at_home: bool = Field(
        description="Whether it was bought for a stored plan and is at home: a prompt to read it now."
    )
    children: list[ForChild] = Field(description="For whom.")


class PacketsToReadReply(ReplyModel):
    """The packets to read, those on which most depends first."""

    on: date = Field(description="The day on which packets must hold.")
    to_read: list[HouseholdPacketToRead] = Field(description="The packets to read.")
    cautions: list[str] = Field(
        description="Which of them were stored with a statement that could not be read, and what to do, in sentences of English."
    )
    caution_messages: list[SaidMessage] = Field(description="The same as codes and their values, in the same order.")


@router.get(
    "/packets/to-read",
    response_model=PacketsToReadReply,
    responses=problems(),
    summary="Packets to read first",
    operation_id="list-packets-to-read",
)
def list_packets_to_read(caller: Reader, query: Annotated[ToReadQuery, Query()]) -> Response:
    """The foods of stored offers and of lunches of the last four weeks whose label is not known for an allergen that a
    child avoids, in dishes too; those on which most lunches depend come first. A stored packet whose statement could not be read is still to be read, and so is one that was bought for a plan. Store what you read with POST /v1/packets.
    """
    asked = Asked(_ids(query.children), _ids(query.offer))
    with caller.store.reading() as connection:
        return json_reply(packets_to_read(connection, caller.household, asked, query.on or today_here()))


def _ids(text: str | None) -> frozenset[str] | None:
    return None if text is None else frozenset(text.split(","))
