"""What a reading of a recipe is asked with."""

from typing import Annotated, Any

from pydantic import AfterValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from service.domain.messages import message
from service.domain.recipes.saved_recipe import MOST_LINES
from service.jobs.requests.fields import COUNTRY_CODE, WHOLE, Asked, Name, Text, conflict

LARGEST_NUMBER = 1e300
MOST_OF_A_PAGE = 5_000_000
"""Characters of a saved page (a limit of ours)."""

Country = Annotated[str, Field(pattern=COUNTRY_CODE, examples=["US"])]


def _finite(document: dict[str, Any] | list[Any]) -> dict[str, Any] | list[Any]:
    """The document; refused where a number in it is too large to be one."""
    waiting: list[Any] = [document]
    while waiting:
        one = waiting.pop()
        if isinstance(one, dict):
            waiting.extend(one.values())
        elif isinstance(one, list):
            waiting.extend(one)
        elif isinstance(one, int | float) and not -LARGEST_NUMBER < one < LARGEST_NUMBER:
            raise PydanticCustomError("finite_number", "is not a finite number")
    return document


class LineAnswer(Asked):
    """What a person says of one line."""

    line: Annotated[int, Field(ge=0, lt=MOST_LINES), WHOLE] = Field(description="Place of the line, from 0.")
    food: Name | None = Field(None, description="Food id; left out: as it was matched.")
    words: Name | None = Field(
        None, description="The food in other words, to look for instead; not together with food."
    )
    grams: Annotated[float, Field(gt=0, le=50_000)] | None = Field(
        None, description="How much goes in, in grams; left out: as it was read."
    )
    leave_out: bool = Field(False, description="The line does not go into the dish.")

    @model_validator(mode="after")
    def _one_food(self) -> "LineAnswer":
        if self.food is not None and self.words is not None:
            raise conflict(message("fault.both-of-two", one="food", other="words"))
        return self


class RecipeReadingRequest(Asked):
    """A recipe as somebody else wrote it: pasted lines, a saved page, or a schema.org document; exactly one of them."""

    text: Text | None = Field(None, description="Lines of ingredients, one below the other.")
    document: Annotated[dict[str, Any] | list[Any], AfterValidator(_finite)] | None = Field(
        None, description="A document that holds a schema.org Recipe (JSON-LD)."
    )
    html: Annotated[str, Field(max_length=MOST_OF_A_PAGE)] | None = Field(
        None, description="A saved page with a schema.org Recipe in it. Nothing is fetched."
    )
    country: Country | None = Field(
        None,
        description="Whose cups, pints and fluid ounces are meant (ISO 3166-1); left out: that of a household with one region, "
        "otherwise they are asked.",
    )
    name: Name | None = Field(None, description="Name of the dish; left out: that of the recipe.")
    portions: Annotated[float, Field(gt=0, le=1000)] | None = Field(
        None, description="How many portions it makes; if not given, as the recipe says."
    )
    answers: Annotated[list[LineAnswer], Field(max_length=MOST_LINES)] = Field(
        default_factory=list, description="Answers to what a reading before asked."
    )

    @model_validator(mode="after")
    def _one_recipe(self) -> "RecipeReadingRequest":
        if sum(one is not None for one in (self.text, self.document, self.html)) != 1:
            raise conflict(message("fault.recipe-given-once"))
        return self
