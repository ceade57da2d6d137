"""The published shapes of allergens, choking rules and screenings."""

from typing import Literal

from pydantic import Field

from service.api.replies import OfItem, Outcome, SaidMessage, SourceStatus, Told


class AllergenOfFood(Told):
    """One food against one avoided allergen. No outcome is a promise."""

    food: str
    name: str
    allergen: str
    avoided_by: Literal["child", "setting"]
    threshold: Literal["contains", "may_contain"]
    outcome: Outcome
    found: str = Field(description="The allergen id that the evidence speaks of.")
    level: Literal["contains", "may_contain", "free", "unknown"]
    basis: str
    evidence: str
    evidence_message: SaidMessage | None
    do_not_pack: bool


class AllergenFinding(OfItem, AllergenOfFood):
    """One item against one avoided allergen. No outcome is a promise."""


class ScreeningRow(Told):
    """One child and one item."""

    nickname: str
    item: str
    place: int = Field(description="Place of the item in the request, from 0.")
    item_id: str | None = Field(description="Your own id for the item, as sent.")
    outcome: Outcome
    do_not_pack: bool
    findings: list[AllergenFinding]


class MakingStep(Told):
    """One step in the order of making."""

    item: str
    places: list[int] = Field(description="Places of the items in the request that it is in, from 0.")
    handles: list[str] = Field(description="Avoided allergens it holds, or may hold.")
    clean_before: list[str] = Field(description="Allergens to clean away before this step.")


class ScreeningReply(Told):
    """The answer to an allergen screening."""

    rows: list[ScreeningRow]
    making_order: list[MakingStep]
    making_order_basis: str
    making_order_basis_message: SaidMessage
    cautions: list[str]
    caution_messages: list[SaidMessage]


class AllergenShown(Told):
    """One allergen of the vocabulary."""

    id: str
    name: str
    gs1_code: str | None = Field(description="GS1 AllergenTypeCode value.")
    members: list[str]
    listed: Literal["mandatory", "recommended"] | None = Field(
        description="How the jurisdiction asked about lists it on that day; null: not listed, or none asked about."
    )
    species: list[str] = Field(description="Ids the law names under this heading, where it narrows or widens it.")
    pending: Literal["mandatory", "recommended"] | None = Field(description="A duty in draft, not yet adopted.")
    law: str | None
    source: str | None
    source_status: SourceStatus | None


class AllergenList(Told):
    """The vocabulary, and one jurisdiction's list if asked for."""

    jurisdiction: str | None
    on: str | None
    jurisdictions: list[str]
    items: list[AllergenShown]
    next: str | None


class ChokingLimitShown(Told):
    """Up to which age guidance speaks of a rule."""

    region: str
    below_age_months: int
    never: bool
    allowed_forms: list[str] | None = Field(description="Forms this guidance gives, where they differ from the rule's.")
    source: str
    source_status: SourceStatus


class ChokingRuleShown(Told):
    """One choking rule."""

    id: str
    foods: str
    risky_forms: list[str]
    allowed_forms: list[str]
    prepare: str
    limits: list[ChokingLimitShown]


class ChokingRuleList(Told):
    """All choking rules."""

    items: list[ChokingRuleShown]
    next: str | None
