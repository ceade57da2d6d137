"""Foods, searched and shown: those of the tables, and with a household's key its own."""

from typing import Annotated

import orjson
from fastapi import APIRouter, Depends, Query, Request, Response
from pydantic import Field, model_validator

from service.api.answers import (
    AS_JSON,
    OF_IDS,
    V1,
    Ids,
    NoParameters,
    Parameters,
    Responses,
    each_parameter_once,
    json_reply,
    not_modified,
    problems,
    reference_reply,
)
from service.api.bodies import JSON, LINKED
from service.api.conditions import AlreadyKnown, Known, etag
from service.api.foods.replies import FoodPage, FoodReply
from service.api.gate.callers import AnyCaller
from service.api.media import accepted_of
from service.api.problems import ApiProblem
from service.domain.messages import message
from service.jobs.foods.as_recipe import table_dish_as_recipe
from service.jobs.foods.search import foods_of_ids, search_foods, show_food
from service.jobs.household.access.opened import Caller
from service.jobs.household.foods.search import (
    household_dish_as_recipe,
    household_foods_of_ids,
    search_household_foods,
    show_household_food,
)
from service.jobs.requests.fields import conflict, is_kept_id

router = APIRouter(prefix=V1, tags=["reference"])

AS_RECIPE: Responses = {
    200: {"content": {LINKED: {"schema": {"type": "object", "description": "A dish as schema.org Recipe (JSON-LD)."}}}}
}


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


async def accepted_form(request: Request) -> str:
    """The media type to answer with; ``ApiProblem`` (406) where none is accepted."""
    return accepted_of(request, JSON, LINKED)


@router.get(
    "/foods",
    response_model=FoodPage,
    responses=problems(400) | not_modified(),
    summary="Search foods",
    operation_id="search-foods",
    dependencies=AS_JSON,
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
    responses=problems(400, 404) | {**not_modified(), 200: {**not_modified()[200], **AS_RECIPE[200]}},
    summary="One food",
    operation_id="show-food",
    dependencies=[Depends(each_parameter_once)],
)
def get_food(
    food_id: str,
    _none: NoParameters,
    caller: AnyCaller,
    known: AlreadyKnown,
    form: Annotated[str, Depends(accepted_form)],
) -> Response:
    """Everything known of one food: figures, portions, credits, allergens, forms, and their sources.

    With a household's key also of an own food or recipe, which has its ETag and `kept`: what was stored of it. Ids are
    those of GET /v1/foods. Ask with Accept for application/ld+json: a dish or own recipe as schema.org Recipe with its
    NutritionInformation for a portion; a figure that is not known is left out. Other foods are answered as JSON only.
    """
    if form == LINKED:
        return _as_recipe(food_id, caller, known)
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


def _as_recipe(food_id: str, caller: Caller | None, known: Known) -> Response:
    """A dish as schema.org Recipe; ``ApiProblem`` (406) for a food that is no dish."""
    linked, headers = None, {"Vary": "Accept"}
    if caller is not None:
        with caller.store.reading() as connection:
            own = household_dish_as_recipe(connection, caller.household, food_id)
        if own is not None:
            linked, record = own
            headers["ETag"] = etag(record.version)
            if known(headers["ETag"]):
                return Response(status_code=304, headers=headers)
    if linked is None and not is_kept_id(food_id):
        linked = table_dish_as_recipe(show_food(food_id))
    if linked is None:
        raise ApiProblem("not-acceptable", message("fault.none-accepted", media=[JSON]))
    return Response(orjson.dumps(linked), headers=headers, media_type=LINKED)
