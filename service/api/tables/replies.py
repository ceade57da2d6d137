"""The published shape of the answer to a table of lunches."""

from typing import Any, Literal

from pydantic import Field, create_model

from service.api.replies import Outcome, ReplyModel, SaidMessage, SourceStatus, Status, Verdict
from service.domain.measures import MEASURES


class _LunchOfBatch(ReplyModel):
    """One lunch of a table. Totals are null where one is not known exactly; ``incomplete`` then gives what is known."""

    lunch: str = Field(description="The lunch.")
    verdict: Verdict = Field(description="The worst of all findings: do_not_pack, check_label, adjust or pack.")
    score: float | None = Field(description="0 to 100, for the parent; null for a lunch that must not be packed.")
    standard: str = Field(description="The standard it was checked against.")
    on: str = Field(description="The day, YYYY-MM-DD.", json_schema_extra={"format": "date"})
    age_group: str = Field(description="Id of the age group.")
    items: int = Field(description="How many items it has.")
    grams: float = Field(description="Weight in grams.")
    met: int = Field(description="Targets and product rules met; the next four likewise.")
    short: int = Field(description="How many fall short.")
    over: int = Field(description="How many are over.")
    unknown: int = Field(description="How many for which this is not known; null: not counted.")
    not_applicable: int = Field(description="How many do not apply.")
    off_the_mean: int = Field(description="Targets off a week's mean that do not make this lunch one to adjust.")
    to_change: str | None = Field(description="What makes it one to adjust: id:status, separated by semicolons.")
    allergen_outcome: Outcome | None = Field(description="The most serious outcome; null: nothing is avoided.")
    allergens: str | None = Field(description="allergen:outcome, separated by semicolons, but for not_declared.")
    handling: str | None = Field(description="Findings on form and holding: id:status, but for those in order.")


_TOTALS: dict[str, Any] = {
    measure.id: (float | None, Field(description=f"{measure.label}, {measure.unit}")) for measure in MEASURES
}
_INCOMPLETE: dict[str, Any] = {
    "incomplete": (
        str | None,
        Field(description="measure:low..high of totals not known exactly, separated by semicolons; no end: low.."),
    )
}

LunchOfBatch = create_model(
    "LunchOfBatch", __base__=_LunchOfBatch, __doc__=_LunchOfBatch.__doc__, **_TOTALS, **_INCOMPLETE
)


class FindingOfBatch(ReplyModel):
    """One finding of one lunch."""

    lunch: str = Field(description="The lunch.")
    kind: Literal["target", "product_rule", "allergen", "handling"] = Field(description="What kind it is.")
    id: str = Field(description="Its id.")
    status: Status | Outcome | Literal["in_order", "fix", "do_not_pack"] = Field(description="Its status.")
    counts: bool = Field(description="It keeps the lunch from being one to pack as it is.")
    food: str | None = Field(description="The item it speaks of; null: the lunch as a whole.")
    amount: float | None = Field(description="In the unit given.")
    amount_low: float | None = Field(description="The least it can be, in the unit given; null: not known.")
    amount_high: float | None = Field(description="null: no upper end is known.")
    at_least: float | None = Field(description="Lower bound in the unit given; null: none.")
    at_most: float | None = Field(description="Upper bound in the unit given; null: none.")
    exclusive: bool = Field(description="The bound itself does not count as met.")
    unit: str | None = Field(description="The unit of its amounts.")
    basis: Literal["lunch", "school_day", "week_mean", "week_total", "product"] | None = Field(
        description="What it applies to or is based on."
    )
    avoided_by: Literal["child", "setting"] | None = Field(description="Whether the child or the setting avoids it.")
    threshold: Literal["contains", "may_contain"] | None = Field(
        description="From which level on it must not be packed."
    )
    source: str | None = Field(description="Where it comes from: publication and place.")
    source_status: SourceStatus | None = Field(
        description="How well the source is known: read, second_hand, memory, estimated or proposed."
    )


class FaultOfBatch(ReplyModel):
    """One fault of a rejected lunch."""

    lunch: str | None = Field(description="null: it is not known which lunch the row belongs to.")
    field: str = Field(description="The field.")
    value: str = Field(description="The value that was given, as text, cut to 120 characters.")
    detail: str = Field(description="What is wrong, in a sentence of English.")
    remedy: str = Field(description="What to do, in a sentence of English.")
    pointer: str = Field(description="Where it is in the request.")


class LunchBatchReply(ReplyModel):
    """The answer to a table of lunches."""

    lunches: list[LunchOfBatch] = Field(description="One for each lunch that was checked.")
    findings: list[FindingOfBatch] = Field(description="One for each target and rule.")
    rejected: list[FaultOfBatch] = Field(description="One for each fault of a rejected lunch.")
    cautions: list[str] = Field(description="What to bear in mind, in sentences of English.")
    caution_messages: list[SaidMessage] = Field(description="The same as codes and their values, in the same order.")
