"""The published shapes of allergens, choking rules and screenings."""

from typing import Literal

from pydantic import Field

from service.api.replies import OfItem, Outcome, ReplyModel, SaidMessage, SourceStatus


class AllergenOfFood(ReplyModel):
    """One food against one avoided allergen. No outcome is a promise."""

    food: str = Field(description="Id of the food; of an own food, recipe or label its kind or name.")
    name: str = Field(description="Its name.")
    allergen: str = Field(description="Allergen id, see GET /v1/allergens.")
    avoided_by: Literal["child", "setting"] = Field(description="Whether the child or the setting avoids it.")
    threshold: Literal["contains", "may_contain"] = Field(description="From which level on it must not be packed.")
    outcome: Outcome = Field(description="What follows for the child.")
    found: str = Field(description="The allergen id that the evidence speaks of.")
    level: Literal["contains", "may_contain", "free", "unknown"] = Field(description="What is known of it in the food.")
    basis: str = Field(description="What it applies to or is based on.")
    evidence: str = Field(description="What the level rests on, in a sentence of English.")
    evidence_message: SaidMessage | None = Field(description="The same as a code and its values.")
    do_not_pack: bool = Field(description="It must not be packed.")


class AllergenFinding(OfItem, AllergenOfFood):
    """One item against one avoided allergen. No outcome is a promise."""


class ScreeningRow(ReplyModel):
    """One child and one item."""

    nickname: str = Field(description="The nickname as it was sent; null: none.")
    item: str = Field(description="The item: its key or name.")
    place: int = Field(description="Place of the item in the request, from 0.")
    item_id: str | None = Field(description="Your own id for the item, as sent.")
    outcome: Outcome = Field(description="What follows for the child.")
    do_not_pack: bool = Field(description="It must not be packed.")
    findings: list[AllergenFinding] = Field(description="One for each target and rule.")


class MakingStep(ReplyModel):
    """One step in the order of making."""

    item: str = Field(description="The item: its key or name.")
    places: list[int] = Field(description="Places of the items in the request that it is in, from 0.")
    handles: list[str] = Field(description="Avoided allergens it holds, or may hold.")
    clean_before: list[str] = Field(description="Allergens to clean away before this step.")


class ScreeningReply(ReplyModel):
    """The answer to an allergen screening."""

    rows: list[ScreeningRow] = Field(description="One for each child and item.")
    making_order: list[MakingStep] = Field(description="In which order to make the things.")
    making_order_basis: str = Field(description="How the order was found, in a sentence.")
    making_order_basis_message: SaidMessage = Field(description="The same as a code and its values.")
    cautions: list[str] = Field(description="What to bear in mind, in sentences of English.")
    caution_messages: list[SaidMessage] = Field(description="The same as codes and their values, in the same order.")


class AllergenShown(ReplyModel):
    """One allergen of the vocabulary."""

    id: str = Field(description="Its id.")
    name: str = Field(description="Its name.")
    gs1_code: str | None = Field(description="GS1 AllergenTypeCode value.")
    members: list[str] = Field(description="Ids of the allergens that it takes in.")
    listed: Literal["mandatory", "recommended"] | None = Field(
        description="How the jurisdiction asked about lists it on that day; null: not listed, or none asked about."
    )
    species: list[str] = Field(description="Ids the law names under this heading, where it narrows or widens it.")
    pending: Literal["mandatory", "recommended"] | None = Field(description="A duty in draft, not yet adopted.")
    law: str | None = Field(description="The law that lists it; null: none.")
    source: str | None = Field(description="Where it comes from: publication and place.")
    source_status: SourceStatus | None = Field(
        description="How well the source is known: read, second_hand, memory, estimated or proposed."
    )


class AllergenList(ReplyModel):
    """The vocabulary, and one jurisdiction's list if asked for."""

    jurisdiction: str | None = Field(description="Whose rules.")
    on: str | None = Field(description="The day, YYYY-MM-DD.", json_schema_extra={"format": "date"})
    jurisdictions: list[str] = Field(description="The jurisdictions there are lists of.")
    items: list[AllergenShown] = Field(description="The items.")
    next: str | None = Field(description="Give it as cursor for the next page; null: this was the last.")


class ChokingLimitShown(ReplyModel):
    """Up to which age guidance speaks of a rule."""

    region: str = Field(description="Whose guidance: US or GB.")
    below_age_months: int = Field(description="Age in months from which it no longer applies.")
    never: bool = Field(description="At no age.")
    allowed_forms: list[str] | None = Field(description="Forms this guidance gives, where they differ from the rule's.")
    source: str = Field(description="Where it comes from: publication and place.")
    source_status: SourceStatus = Field(
        description="How well the source is known: read, second_hand, memory, estimated or proposed."
    )


class ChokingRuleShown(ReplyModel):
    """One choking rule."""

    id: str = Field(description="Its id.")
    foods: str = Field(description="The foods it speaks of.")
    risky_forms: list[str] = Field(description="Forms that are a choking concern.")
    allowed_forms: list[str] = Field(description="Forms that guidance gives instead.")
    prepare: str = Field(description="How to prepare them.")
    limits: list[ChokingLimitShown] = Field(description="Up to which age, by region.")


class ChokingRuleList(ReplyModel):
    """All choking rules."""

    items: list[ChokingRuleShown] = Field(description="The items.")
    next: str | None = Field(description="Give it as cursor for the next page; null: this was the last.")
