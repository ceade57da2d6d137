"""What all published shapes of replies share.

Replies are built as plain dictionaries, for speed; tests check them against these models, which the documentation shows.
"""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from service.jobs.word_lists import SourceStatus


class ReplyModel(BaseModel):
    """What every reply model has in common: the tests refuse other keys, the documentation leaves room for more."""

    model_config = ConfigDict(extra="forbid", defer_build=True)


class SaidMessage(ReplyModel):
    """A sentence's stable code and the values in it: enough to say it in another language, or to act on it."""

    code: str = Field(description="Code of the sentence; it stays the same when the wording changes.")
    params: dict[str, Any] = Field(description="Numbers, texts, days, lists of these, or messages within the message.")


AsCode = Annotated[SaidMessage, Field(description="The same as a code and its values.")]
AsCodes = Annotated[list[SaidMessage], Field(description="The same as codes and their values, in the same order.")]
Source = Annotated[str, Field(description="Where it comes from: publication and place.")]
HowKnown = Annotated[
    SourceStatus,
    Field(description="How well the source is known: read, second_hand, memory, estimated or proposed."),
]


class Said(SaidMessage):
    """A sentence for people, with its code and values."""

    sentence: str = Field(description="The sentence, in English.")


class OfItem(ReplyModel):
    """Which item of the request a row speaks of."""

    item: int | None = Field(description="Place of the item in the request, from 0; null: it speaks of no one item.")
    item_id: str | None = Field(description="Your own id for the item, as sent.")


class Health(ReplyModel):
    """Whether the service can answer."""

    status: Literal["ok"] = Field(description="Always ok; a service that cannot answer sends a problem, or nothing.")
    version: str = Field(description="Version of the service.")
    lunch_foods: int = Field(description="Number of lunch foods that were read.")
    generic_foods: int = Field(description="Number of foods of the composition tables that were read.")
    standards: int = Field(description="Number of standards that were read.")


class ProblemError(ReplyModel):
    """One fault of a request."""

    pointer: str = Field(description="JSON pointer into the body, or the parameter's name.")
    value: str = Field(description="The value that was given, as text, cut to 120 characters.")
    detail: str = Field(description="What is wrong, in a sentence of English.")
    remedy: str = Field(description="What to do, in a sentence of English.")
    slug: str = Field(description="The kind of fault.")
    code: str = Field(description="More exact than the slug: what is wrong, and what the params belong to.")
    params: dict[str, Any] = Field(description="The values in detail and remedy.")


class Problem(ReplyModel):
    """Problem details (RFC 9457)."""

    type: str = Field(description="Address of the type of problem; it explains itself there.")
    title: str = Field(description="The same for all problems of a type.")
    status: int = Field(description="The HTTP status.")
    detail: str = Field(description="What is wrong, in a sentence of English.")
    instance: str | None = Field(None, description="The address that was asked.")
    code: str | None = Field(
        None, description="What is wrong, more exactly than the type; of a fault that is of no field."
    )
    params: dict[str, Any] = Field(default_factory=dict, description="The values in the detail, where there is a code.")
    errors: list[ProblemError] = Field(default_factory=list, description="Each fault of the request.")
    request_id: str | None = Field(
        None, description="Where the status is 500: the id by which the log has this request, as in X-Request-ID."
    )


class ProblemExplained(ReplyModel):
    """What a type of problem means."""

    type: str = Field(description="The type, as in problems.", json_schema_extra={"format": "uri-reference"})
    title: str = Field(description="The same title as in problems.")
    status: int = Field(description="The HTTP status of such problems.")
    meaning: str = Field(description="What it means.")
    remedy: str = Field(description="What to do.")
