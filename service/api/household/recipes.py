"""Own recipes of a household."""

from service.api.household.record_routes import Words, record_routes
from service.jobs.household.kinds import RECIPES

ROUTES = record_routes(
    RECIPES,
    Words(
        "/v1/recipes", "recipe_id", "recipe", "recipes", "KeptRecipe",
        "A dish from foods and grams; an ingredient may be an own food by its id, and the recipe's own id is accepted "
        "wherever a food's is.",
    ),
)  # fmt: skip
