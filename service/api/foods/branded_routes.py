"""Branded foods of a public database, by the code of a packet or by words."""

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response
from pydantic import Field, model_validator

from service.api.answers import AS_JSON, V1, Parameters, json_reply, problems
from service.api.foods.branded_replies import BrandedFoods
from service.api.gate.callers import AnyCaller
from service.domain.messages import message
from service.jobs.household.branded.live_source import live_source_of
from service.jobs.household.branded.look_up import look_up_branded
from service.jobs.requests.fields import conflict
from service.settings import Settings

router = APIRouter(prefix=V1, dependencies=AS_JSON, tags=["reference"])


class BrandedQuery(Parameters):
    """A code, or words."""

    gtin: str | None = Field(
        None,
        min_length=1,
        max_length=40,
        description="The digits under the bars of a packet: 8 to 14, with or without zeros in front; spaces and hyphens do not count.",
        examples=["4006381333931"],
    )
    q: str | None = Field(
        None,
        min_length=1,
        max_length=100,
        description="Words of the product's name or brand; the last may be a beginning of three letters or more.",
    )
    limit: int = Field(20, ge=1, description="Foods to give at the most for words; more than 50 gives 50.")

    @model_validator(mode="after")
    def _one_way(self) -> "BrandedQuery":
        if (self.gtin is None) == (self.q is None):
            raise conflict(message("fault.gtin-or-words"))
        return self


@router.get(
    "/branded-foods",
    response_model=BrandedFoods,
    responses=problems(400, 404),
    summary="Branded foods of a public database",
    operation_id="find-branded-foods",
)
def get_branded_foods(request: Request, query: Annotated[BrandedQuery, Query()], caller: AnyCaller) -> Response:
    """Find the product of a code, or products by words, in the index that was built on this machine from USDA FoodData Central.

    With the key of a household that has switched the live source on, what the index does not have is asked over the internet. What
    is found is of the day it says: compare it with the packet in hand. Where there is neither an index nor a live source, the
    answer is 404 with the code no-branded-index.
    """
    chosen: Settings = request.app.state.settings
    live = None
    if caller is not None:
        with caller.store.reading() as connection:
            live = live_source_of(connection, caller.household, chosen.food_data_url, chosen.food_data_cache)
    found = look_up_branded(
        gtin=query.gtin, words=query.q or "", limit=query.limit, index_file=chosen.branded_foods_file, live=live
    )
    return json_reply(found)
