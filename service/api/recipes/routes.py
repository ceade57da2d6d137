"""Readings of recipes."""

from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response

from service.api.answers import AS_JSON, BODY_FAULTS, V1, json_reply, problems
from service.api.bodies import JsonBody
from service.api.gate.callers import AnyCaller
from service.api.recipes.replies import RecipeReadingReply
from service.jobs.household.foods.brought_in import read_recipe_of_household
from service.jobs.recipes.read_recipe import read_recipe
from service.jobs.recipes.requests import RecipeReadingRequest

router = APIRouter(prefix=V1, dependencies=AS_JSON)

ReadingBody = JsonBody(RecipeReadingRequest)


@router.post(
    "/recipe-readings",
    response_model=RecipeReadingReply,
    responses=problems(*BODY_FAULTS, 404),
    summary="Read a recipe",
    operation_id="read-recipe",
    tags=["checks"],
)
async def post_recipe_reading(
    request: Request, asked: Annotated[RecipeReadingRequest, Depends(ReadingBody)], caller: AnyCaller
) -> Response:
    """Read pasted lines of ingredients, a saved page or a schema.org Recipe, and match each line to a food and its weight.

    What can be read in two ways is asked, with what settles it: send the same again with `answers`. `dish` is the body for
    POST /v1/recipes. With a household's key its own foods are among the candidates, and its region says whose cups are
    meant. Stores nothing and fetches nothing.
    """
    workers = request.app.state.workers.checks
    if caller is None:
        return json_reply(await workers.run(read_recipe, asked))
    return json_reply(await workers.run(read_recipe_of_household, caller.store, caller.household, asked))
