"""The published shapes of allergens, choking rules and screenings."""

from pydantic import Field

from service.api.replies import AsCode, AsCodes, HowKnown, OfItem, ReplyModel, SaidMessage, Source
from service.jobs.word_lists import AvoidedBy, Duty, Level, Outcome, SourceStatus, Threshold


class AllergenOfFood(ReplyModel):
    """One food against one avoided allergen. No outcome is a promise."""

    food: str = Field(description="Id of the food; of an own food, recipe or label its kind or name.")
    name: str = Field(description="Name of the food, for people.")
    allergen: str = Field(description="Allergen id, see GET /v1/allergens.")
    avoided_by: AvoidedBy = Field(description="Who avoids it.")
    threshold: Threshold = Field(description="From which level on it must not be packed.")
    outcome: Outcome = Field(description="What follows from it.")
    found: str = Field(description="The allergen id that the evidence speaks of.")
    level: Level = Field(description="What is known of the allergen in the food.")
    basis: str = Field(
        description="What the level rests on: nature, usual_recipe, read_label, label_statement, name, recipe or none."
    )
    evidence: str = Field(description="What the level rests on, in a sentence of English.")
    evidence_message: SaidMessage | None = Field(description="The same as a code and its values.")
    do_not_pack: bool = Field(description="True: the food must not be packed for this child.")


class AllergenFinding(OfItem, AllergenOfFood):
    """One item against one avoided allergen. No outcome is a promise."""


class ScreeningRow(ReplyModel):
    """One child and one item."""

    nickname: str = Field(description="Nickname of the child, as sent.")
    item: str = Field(description="Name of the item, for people.")
    place: int = Field(description="Place of the item in the request, from 0.")
    item_id: str | None = Field(description="Your own id for the item, as sent.")
    outcome: Outcome = Field(description="The gravest outcome of the findings.")
    do_not_pack: bool = Field(description="True: the item must not be packed for this child.")
    findings: list[AllergenFinding] = Field(description="One for each allergen that the child or the setting avoids.")


class MakingStep(ReplyModel):
    """One step in the order of making."""

    item: str = Field(description="Name of the item, for people.")
    places: list[int] = Field(description="Places of the items in the request that it is in, from 0.")
    handles: list[str] = Field(description="Avoided allergens it holds, or may hold.")
    clean_before: list[str] = Field(description="Allergens to clean away before this step.")
    clean_for: list[str] = Field(description="Nicknames of the children who need them cleaned away.")


class ScreeningReply(ReplyModel):
    """The answer to an allergen screening."""

    rows: list[ScreeningRow] = Field(description="One for each child and item.")
    making_order: list[MakingStep] = Field(description="In which order to make the things.")
    making_order_basis: str = Field(description="How the order was found, in a sentence.")
    making_order_basis_message: AsCode
    cautions: list[str] = Field(description="What to bear in mind, in sentences of English.")
    caution_messages: AsCodes


class CodeShown(ReplyModel):
    """The code of an allergen in a system of codes."""

    system: str = Field(description="Address of the system, e.g. http://snomed.info/sct.")
    code: str = Field(description="The code in that system.")
    display: str = Field(description="What it means there, for people.")
    source: str = Field(description="Where the code was read.")
    source_status: SourceStatus = Field(description="How well the source is known.")


class AllergenShown(ReplyModel):
    """One allergen of the vocabulary."""

    id: str = Field(description="Id of the allergen; give it in avoids and bans.")
    name: str = Field(description="Name of the allergen, for people.")
    gs1_code: str | None = Field(description="GS1 AllergenTypeCode value.")
    codes: list[CodeShown] = Field(description="Codes that a list of avoids (FHIR) is written with, GS1 last.")
    members: list[str] = Field(description="Ids of the allergens that it takes in.")
    listed: Duty | None = Field(
        description="How the jurisdiction asked about lists it on that day; null: not listed, or none asked about."
    )
    species: list[str] = Field(description="Ids the law names under this heading, where it narrows or widens it.")
    pending: Duty | None = Field(description="A duty in draft, not yet adopted.")
    law: str | None = Field(description="The law that lists it; null: not listed.")
    source: str | None = Field(description="Where it comes from: publication and place.")
    source_status: SourceStatus | None = Field(
        description="How well the source is known: read, second_hand, memory, estimated or proposed."
    )


class AllergenList(ReplyModel):
    """The vocabulary, and one jurisdiction's list if asked for."""

    jurisdiction: str | None = Field(description="The jurisdiction whose list is shown; null: none was asked for.")
    on: str | None = Field(
        description="The day of that list, YYYY-MM-DD; null: none was asked for.", json_schema_extra={"format": "date"}
    )
    jurisdictions: list[str] = Field(
        description="The jurisdictions that there are lists of, for the parameter jurisdiction."
    )
    items: list[AllergenShown] = Field(description="All allergens of the vocabulary.")
    next: str | None = Field(description="Give it as cursor for the next page; null: this was the last.")


class ChokingLimitShown(ReplyModel):
    """Up to which age guidance speaks of a rule."""

    region: str = Field(description="Whose guidance: US or GB.")
    below_age_months: int = Field(description="The guidance speaks of children below this age, in months.")
    never: bool = Field(description="True: the food is not given at any age in this form.")
    allowed_forms: list[str] | None = Field(description="Forms this guidance gives, where they differ from the rule's.")
    source: Source
    source_status: HowKnown


class ChokingRuleShown(ReplyModel):
    """One choking rule."""

    id: str = Field(description="Id of the rule; findings and foods name it by this.")
    foods: str = Field(description="The foods it speaks of, in words.")
    risky_forms: list[str] = Field(description="Forms that are a choking concern.")
    allowed_forms: list[str] = Field(description="Forms that guidance gives instead.")
    prepare: str = Field(description="How to prepare these foods, in words.")
    limits: list[ChokingLimitShown] = Field(description="Up to which age, by region.")


class ChokingRuleList(ReplyModel):
    """All choking rules."""

    items: list[ChokingRuleShown] = Field(description="The choking rules.")
    next: str | None = Field(description="Give it as cursor for the next page; null: this was the last.")
