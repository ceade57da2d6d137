"""The published shape of a reading of a recipe."""

from typing import Annotated, Any, Literal

from pydantic import Field

from service.api.replies import ReplyModel, Said, SaidMessage

Amount = Annotated[float | None, Field(description="How many; null: the line does not say.")]


class MeasuredShown(ReplyModel):
    """So much of a unit."""

    amount: float = Field(description="How many of the unit.")
    unit: str = Field(description="Id of the unit, e.g. g, ml, oz, cup.")


class SpanShown(ReplyModel):
    """A part of a line."""

    start: int = Field(description="Place of its first character, from 0.")
    end: int = Field(description="Place behind its last character.")


class LineRead(ReplyModel):
    """What a line says."""

    amount: Amount
    amount_to: float | None = Field(description="The other end of a range; null: none.")
    unit: str | None = Field(description="Id of the unit, e.g. g, cup, can, clove; null: the food is counted.")
    pack: MeasuredShown | None = Field(description="What one unit holds: the 14 oz of a can; null: not said.")
    beside: MeasuredShown | None = Field(description="The whole in another measure, as in 1 cup (240 ml); null: none.")
    plus: MeasuredShown | None = Field(description="What comes on top, as in 1 cup plus 2 tbsp; null: nothing.")
    size: str = Field(description="Size of the food or the measure, e.g. large; empty: none.")
    food: str = Field(description="The words that name the food; empty: none.")
    preparation: str = Field(description="How it is made ready, e.g. finely chopped; empty: not said.")
    note: str = Field(description="What else the line says; empty: nothing.")
    spans: dict[str, SpanShown] = Field(
        description="Where in the line each part was read: amount, unit, food, preparation, note; where a part is in several "
        "places, the first."
    )


class Doubt(Said):
    """What is still to be answered of a line."""

    answer_with: list[str] = Field(
        description="What settles it: fields of an answer (food, grams, leave_out), or country, for the whole request."
    )


class CandidateShown(ReplyModel):
    """A food that a line may mean."""

    id: str = Field(description="Id of the food; give it as food of an answer.")
    name: str = Field(description="Name of the food, for people.")
    kind: str = Field(description="Where the food comes from.")
    confidence: float = Field(
        ge=0, le=1, description="How far the words of the line and the name agree; it says nothing of allergens."
    )
    apart: str = Field(description="What tells it from another candidate of the same name; empty: none has it.")
    apart_message: SaidMessage | None = Field(
        description="The same as a code and its values; null: no other has its name."
    )


class LineSettled(ReplyModel):
    """A line with its food and weight, or with what is to be answered."""

    line: int = Field(description="Place of the line, from 0.")
    text: str = Field(description="The line as it was given.")
    state: Literal["read", "ask", "left_out"] = Field(
        description="read: it goes into the dish; ask: there is something to answer; left_out: it does not go in."
    )
    reading: LineRead
    doubts: list[Doubt] = Field(description="What is still to be answered; empty: nothing.")
    candidates: list[CandidateShown] = Field(description="Up to five foods that it may mean, the likeliest first.")
    food: str | None = Field(description="Id of the food that is taken; null: not known yet.")
    food_name: str | None = Field(description="Its name.")
    grams: float | None = Field(description="How much goes in, in grams; null: not known yet.")
    weighed: str = Field(description="How the weight came about; empty: it is not known yet.")
    weighed_message: SaidMessage | None = Field(description="The same as a code and its values; null: not known yet.")


class RecipeReadingReply(ReplyModel):
    """How a recipe was read."""

    name: str = Field(description="Name of the dish.")
    named: bool = Field(description="Whether the request or the recipe names it; otherwise the name only stands in.")
    address: str | None = Field(
        description="Where the recipe says that it is from; a text, never fetched; null: not said."
    )
    makes: str | None = Field(description="What the recipe says that it makes, as written; null: not said.")
    portions: float | None = Field(description="How many portions that is; null: not known.")
    preparation_minutes: int | None = Field(description="Time to prepare it, in minutes; null: not known.")
    cooking_minutes: int | None = Field(description="Time to cook it, in minutes; null: not known.")
    country: str | None = Field(description="Whose cups, pints and fluid ounces were meant; null: not known.")
    lines: list[LineSettled] = Field(description="The lines of ingredients, in their order.")
    to_answer: int = Field(description="Number of lines with something to answer.")
    complete: bool = Field(description="Whether nothing is left to answer, the portions included.")
    dish: dict[str, Any] | None = Field(
        description="Body for POST /v1/recipes of the lines that are read; null: none is."
    )
    notes: list[Said] = Field(description="What was not read of the recipe besides.")
