"""What all published shapes of replies share.

Replies are built as plain dictionaries, for speed; tests hold them against these models, which the documentation shows.
"""

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

Verdict = Literal["do_not_pack", "check_label", "adjust", "pack"]
Outcome = Literal["avoid", "may_contain", "check_label", "not_declared"]
Status = Literal["met", "short", "over", "unknown", "not_applicable"]
SourceStatus = Literal["read", "second_hand", "memory", "estimated", "proposed"]


class Told(BaseModel):
    """What every reply model has in common: the tests refuse other keys, the documentation leaves room for more."""

    model_config = ConfigDict(extra="forbid", defer_build=True)


class SaidMessage(Told):
    """A sentence's stable code and the values in it: enough to say it in another language, or to act on it."""

    code: str
    params: dict[str, Any] = Field(description="Numbers, texts, days, lists of these, or messages within the message.")


class Said(SaidMessage):
    """A sentence for people, with its code and values beside it."""

    sentence: str


class OfItem(Told):
    """Which item of the request a row speaks of."""

    item: int | None = Field(description="Place of the item in the request, from 0; null: it speaks of no one item.")
    item_id: str | None = Field(description="Your own id for the item, as sent.")


class Health(Told):
    """Whether the service can answer."""

    status: Literal["ok"]
    version: str
    lunch_foods: int
    generic_foods: int
    standards: int


class ProblemError(Told):
    """One fault of a request."""

    pointer: str = Field(description="JSON pointer into the body, or the parameter's name.")
    value: str
    detail: str
    remedy: str
    slug: str


class Problem(Told):
    """Problem details (RFC 9457)."""

    type: str
    title: str
    status: int
    detail: str
    instance: str | None = None
    errors: list[ProblemError] = []


class ProblemExplained(Told):
    """What a type of problem means."""

    type: str = Field(description="The type, as in problems.", json_schema_extra={"format": "uri-reference"})
    title: str = Field(description="The same title as in problems.")
    status: int = Field(description="The HTTP status of such problems.")
    meaning: str = Field(description="What it means.")
    remedy: str = Field(description="What to do.")
