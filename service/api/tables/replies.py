"""The published shape of the answer to a table of lunches."""

from typing import Any, Literal

from pydantic import Field, create_model

from service.api.replies import AsCodes, ProblemError, ReplyModel
from service.domain.measures import MEASURES
from service.jobs.word_lists import AvoidedBy, Basis, HandlingStatus, Outcome, SourceStatus, Status, Threshold, Verdict


class _LunchOfBatch(ReplyModel):
    """One lunch of a table. Totals are null where one is not known exactly; ``incomplete`` then gives what is known."""

    lunch: str = Field(description="Id of the lunch, as sent.")
    verdict: Verdict = Field(description="The worst of all findings: do_not_pack, check_label, adjust or pack.")
    score: float | None = Field(description="0 to 100, for the parent; null for a lunch that must not be packed.")
    score_low: float | None = Field(
        description="The lowest the score can be, given what is not known (figures, how it is kept); null where there is no score."
    )
    score_high: float | None = Field(description="The highest it can be; the same as the score where all is known.")
    standard: str = Field(description="Id of the standard it was held against.")
    on: str = Field(description="The day whose rules were used, YYYY-MM-DD.", json_schema_extra={"format": "date"})
    age_group: str = Field(description="Id of the age group the child falls in.")
    items: int = Field(description="Number of items in the lunch.")
    grams: float = Field(description="Weight of the lunch in grams.")
    met: int = Field(description="Number of targets and product rules that are met.")
    short: int = Field(description="Number of those that fall short.")
    over: int = Field(description="Number of those that are over.")
    unknown: int = Field(description="Number of those of which it is not known, because a figure is missing.")
    not_applicable: int = Field(description="Number of those that do not apply.")
    off_the_mean: int = Field(
        description="Number of targets of a week's mean that this lunch is off; they do not make it one to adjust."
    )
    to_change: str | None = Field(
        description="What makes it one to adjust: id:status, separated by semicolons; null: nothing."
    )
    allergen_outcome: Outcome | None = Field(description="The gravest outcome; null: nothing is avoided.")
    allergens: str | None = Field(
        description="allergen:outcome, separated by semicolons, without those that are not_declared; null: none."
    )
    handling: str | None = Field(
        description="Findings on form and holding as id:status, separated by semicolons, without those in order; null: none."
    )
    yardsticks: str | None = Field(
        description="yardstick/target:status for each limit of the yardsticks named, separated by semicolons; yardstick:no_rows: "
        "it has none for the child's age or the day; null: none was named. They change nothing else."
    )


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

    lunch: str = Field(description="Id of the lunch, as sent.")
    kind: Literal["target", "product_rule", "allergen", "handling"] = Field(
        description="What the finding is about: a target, a product rule, an allergen, or form and holding."
    )
    id: str = Field(description="Id of the target or rule, or of the allergen.")
    status: Status | Outcome | HandlingStatus = Field(
        description="The result: for a target or product rule a Status, for an allergen an Outcome, for handling a HandlingStatus."
    )
    counts: bool = Field(description="True: it keeps the lunch from being one to pack as it is.")
    food: str | None = Field(description="Name of the item that it is about; null: the lunch as a whole.")
    amount: float | None = Field(description="The amount found, in `unit`; null: no amount applies.")
    amount_low: float | None = Field(description="The least the amount can be, in `unit`; null: no amount applies.")
    amount_high: float | None = Field(
        description="The most the amount can be, in `unit`; null: no upper end is known, or no amount applies."
    )
    at_least: float | None = Field(description="Lower bound in `unit`; null: none.")
    at_most: float | None = Field(description="Upper bound in `unit`; null: none.")
    exclusive: bool = Field(description="True: an amount equal to the bound does not meet it.")
    unit: str | None = Field(description="Unit of the amounts and bounds; null: there are none.")
    basis: Basis | None = Field(description="What the bounds hold for; null: there are none.")
    avoided_by: AvoidedBy | None = Field(description="Who avoids the allergen; null: it is not about one.")
    threshold: Threshold | None = Field(
        description="From which level on it must not be packed; null: it is not about an allergen."
    )
    source: str | None = Field(description="Where it comes from: publication and place.")
    source_status: SourceStatus | None = Field(
        description="How well the source is known: read, second_hand, memory, estimated or proposed."
    )


class FaultOfBatch(ProblemError):
    """One fault of a rejected lunch, as a problem reports it, with its row and lunch."""

    row: int = Field(description="Place of the row in the request, from 0.")
    lunch: str | None = Field(description="Id of the lunch, as sent; null: the row does not say to which it belongs.")
    field: str = Field(description="The field of the row, e.g. unit.")


class LunchBatchReply(ReplyModel):
    """The answer to a table of lunches."""

    lunches: list[LunchOfBatch] = Field(description="One for each lunch that was checked.")
    findings: list[FindingOfBatch] = Field(
        description="One for each target, rule, allergen and handling rule of each lunch."
    )
    rejected: list[FaultOfBatch] = Field(description="One for each fault of a rejected lunch.")
    cautions: list[str] = Field(description="What to bear in mind, in sentences of English.")
    caution_messages: AsCodes
