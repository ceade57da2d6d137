"""The published shape of the answer to a table of lunches."""

from typing import Any, Literal

from pydantic import Field, create_model

from service.api.replies import ProblemError, SaidMessage, Told
from service.domain.measures import MEASURES
from service.jobs.word_lists import AvoidedBy, Basis, HandlingStatus, Outcome, SourceStatus, Status, Threshold, Verdict


class _LunchOfBatch(Told):
    """One lunch of a table. Totals are null where one is not known exactly; ``incomplete`` then gives what is known."""

    lunch: str = Field(description="The lunch.")
    verdict: Verdict = Field(description="The worst of all findings: do_not_pack, check_label, adjust or pack.")
    score: float | None = Field(description="0 to 100, for the parent; null for a lunch that must not be packed.")
    standard: str = Field(description="The standard it was held against.")
    on: str = Field(description="The day, YYYY-MM-DD.", json_schema_extra={"format": "date"})
    age_group: str = Field(description="Id of the age group.")
    items: int = Field(description="How many items it has.")
    grams: float = Field(description="Weight in grams.")
    met: int = Field(description="Targets and product rules met; the next four likewise.")
    short: int = Field(description="How many fall short.")
    over: int = Field(description="How many are over.")
    unknown: int = Field(description="How many of which it cannot be told; null: not counted.")
    not_applicable: int = Field(description="How many do not apply.")
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

    lunch: str = Field(description="The lunch.")
    kind: Literal["target", "product_rule", "allergen", "handling"] = Field(description="What kind it is.")
    id: str = Field(description="Its id.")
    status: Status | Outcome | HandlingStatus = Field(description="How it stands.")
    counts: bool = Field(description="It keeps the lunch from being one to pack as it is.")
    food: str | None = Field(description="The item it speaks of; null: the lunch as a whole.")
    amount: float | None = Field(description="In the unit given.")
    amount_low: float | None = Field(description="The least it can be, in the unit given; null: not known.")
    amount_high: float | None = Field(description="null: no upper end is known.")
    at_least: float | None = Field(description="Lower bound in the unit given; null: none.")
    at_most: float | None = Field(description="Upper bound in the unit given; null: none.")
    exclusive: bool = Field(description="The bound itself does not count as met.")
    unit: str | None = Field(description="The unit of its amounts.")
    basis: Basis | None = Field(description="What it holds for or rests on.")
    avoided_by: AvoidedBy | None = Field(description="Whether the child or the setting avoids it.")
    threshold: Threshold | None = Field(description="From which level on it must not be packed.")
    source: str | None = Field(description="Where it comes from: publication and place.")
    source_status: SourceStatus | None = Field(
        description="How well the source is known: read, second_hand, memory, estimated or proposed."
    )


class FaultOfBatch(ProblemError):
    """One fault of a rejected lunch, as a problem reports it, with its row and lunch."""

    row: int = Field(description="Place of the row in the request, from 0.")
    lunch: str | None = Field(description="Id of the lunch, as sent; null: the row does not say to which it belongs.")
    field: str = Field(description="The field of the row, e.g. unit.")


class LunchBatchReply(Told):
    """The answer to a table of lunches."""

    lunches: list[LunchOfBatch] = Field(description="One for each lunch that was checked.")
    findings: list[FindingOfBatch] = Field(description="One for each target and rule.")
    rejected: list[FaultOfBatch] = Field(description="One for each fault of a rejected lunch.")
    cautions: list[str] = Field(description="What to bear in mind, in sentences of English.")
    caution_messages: list[SaidMessage] = Field(description="The same as codes and their values, in the same order.")
