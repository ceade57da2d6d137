"""Foods, searched and shown: those of the tables, and with a household's key its own."""

from typing import Annotated

from fastapi import APIRouter, Query, Response
from pydantic import Field, model_validator

from service.api.answers import (
    AS_JSON,
    OF_IDS,
    V1,
    Ids,
    NoParameters,
    Parameters,
    json_reply,
    not_modified,
    problems,
    reference_reply,
)
from service.api.callers import AnyCaller
from service.api.conditions import AlreadyKnown, etag
from service.api.foods.replies import FoodPage, FoodReply
from service.domain.messages import message
from service.jobs.foods.search import foods_of_ids, search_foods, show_food
from service.jobs.household.foods.search import household_foods_of_ids, search_household_foods, show_household_food
from service.jobs.requests.fields import conflict

router = APIRouter(prefix=V1, dependencies=AS_JSON, tags=["reference"])


class FoodQuery(Parameters):
    """What to search for."""

    q: str = Field("", max_length=100, description="Words or beginnings of words; empty lists everything.")
    limit: int = Field(20, ge=1, description="Foods on a page; more than 200 gives 200.")
    cursor: str | None = Field(None, max_length=100, description="The 'next' of the page before.")
    ids: Ids | None = Field(None, description=f"{OF_IDS} All on one page; not together with q or cursor.")

    @model_validator(mode="after")
    def _one_way(self) -> "FoodQuery":
        if self.ids is not None and (self.q or self.cursor is not None):
            raise conflict(message("fault.ids-and-search"))
        return self


@router.get(
    "/foods",
    response_model=FoodPage,
    responses=problems(400) | not_modified(),
    summary="Search foods",
    operation_id="search-foods",
)
def get_foods(query: Annotated[FoodQuery, Query()], caller: AnyCaller, known: AlreadyKnown) -> Response:
    """Find foods by the beginnings of words, forgiving a misspelling; lunch foods come first.

    With a household's key, its own foods and recipes come before them. With `ids`, these foods in that order.
    """
    ids = [] if query.ids is None else query.ids.split(",")
    if caller is None and ids:
        return reference_reply(foods_of_ids(ids), known)
    if caller is None:
        return reference_reply(search_foods(query.q, query.limit, query.cursor), known)
    with caller.store.reading() as connection:
        if ids:
            found = household_foods_of_ids(connection, caller.household, ids)
        else:
            found = search_household_foods(connection, caller.household, query.q, query.limit, query.cursor)
    return json_reply(found)


@router.get(
    "/foods/{food_id}",
    response_model=FoodReply,
    responses=problems(400, 404) | not_modified(),
    summary="One food",
    operation_id="show-food",
)
def get_food(food_id: str, _none: NoParameters, caller: AnyCaller, known: AlreadyKnown) -> Response:
    """Everything known of one food: figures, portions, credits, allergens, forms, and their sources.

    With a household's key also of an own food or recipe, which has its ETag and `kept`: what was stored of it. Ids are
    those of GET /v1/foods.
    """
    if caller is None:
        return reference_reply(show_food(food_id), known)
    with caller.store.reading() as connection:
        own = show_household_food(connection, caller.household, food_id)
    if own is None:
        return json_reply(show_food(food_id))
    reply, record = own
    tag = etag(record.version)
    if known(tag):
        return Response(status_code=304, headers={"ETag": tag})
    return json_reply(reply, headers={"ETag": tag})
