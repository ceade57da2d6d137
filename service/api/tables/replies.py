"""The published shape of the answer to a table of lunches."""

from typing import Any, Literal

from pydantic import Field, create_model

from service.api.replies import Outcome, SaidMessage, SourceStatus, Status, Told, Verdict
from service.domain.measures import MEASURES


class _LunchOfBatch(Told):
    """One lunch of a table. Totals are null where one is not known exactly; ``incomplete`` then gives what is known."""

    lunch: str
    verdict: Verdict
    score: float | None = Field(description="0 to 100, for the parent; null for a lunch that must not be packed.")
    standard: str
    on: str
    age_group: str
    items: int
    grams: float
    met: int = Field(description="Targets and product rules met; the next four likewise.")
    short: int
    over: int
    unknown: int
    not_applicable: int
    off_the_mean: int = Field(description="Targets off a week's mean that do not make this lunch one to adjust.")
    to_change: str | None = Field(description="What makes it one to adjust: id:status, parted by semicolons.")
    allergen_outcome: Outcome | None = Field(description="The gravest outcome; null: nothing is avoided.")
    allergens: str | None = Field(description="allergen:outcome, parted by semicolons, but for not_declared.")
    handling: str | None = Field(description="Findings on form and holding: id:status, but for those in order.")


_TOTALS: dict[str, Any] = {
    measure.id: (float | None, Field(description=f"{measure.label}, {measure.unit}")) for measure in MEASURES
}
_INCOMPLETE: dict[str, Any] = {
    "incomplete": (
        str | None,
        Field(description="measure:low..high of totals not known exactly, parted by semicolons; no end: low.."),
    )
}

LunchOfBatch = create_model(
    "LunchOfBatch", __base__=_LunchOfBatch, __doc__=_LunchOfBatch.__doc__, **_TOTALS, **_INCOMPLETE
)


class FindingOfBatch(Told):
    """One finding of one lunch."""

    lunch: str
    kind: Literal["target", "product_rule", "allergen", "handling"]
    id: str
    status: Status | Outcome | Literal["in_order", "fix", "do_not_pack"]
    counts: bool = Field(description="It keeps the lunch from being one to pack as it is.")
    food: str | None = Field(description="The item it speaks of; null: the lunch as a whole.")
    amount: float | None
    amount_low: float | None
    amount_high: float | None = Field(description="null: no upper end is known.")
    at_least: float | None
    at_most: float | None
    exclusive: bool
    unit: str | None
    basis: Literal["lunch", "school_day", "week_mean", "week_total", "product"] | None
    avoided_by: Literal["child", "setting"] | None
    threshold: Literal["contains", "may_contain"] | None
    source: str | None
    source_status: SourceStatus | None


class FaultOfBatch(Told):
    """One fault of a rejected lunch."""

    lunch: str | None = Field(description="null: it cannot be told which lunch the row belongs to.")
    field: str
    value: str
    reason: str
    remedy: str
    pointer: str = Field(description="Where it is in the request.")


class LunchBatchReply(Told):
    """The answer to a table of lunches."""

    lunches: list[LunchOfBatch]
    findings: list[FindingOfBatch]
    rejected: list[FaultOfBatch]
    cautions: list[str]
    caution_messages: list[SaidMessage]
