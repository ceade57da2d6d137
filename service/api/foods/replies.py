"""The published shapes of foods."""

from typing import Any, Literal

from pydantic import Field

from service.api.replies import SaidMessage, SourceStatus, Told


class FoundFood(Told):
    """One food found by a search."""

    id: str
    name: str
    kind: Literal["lunch_food", "recipe", "generic_food", "own_food", "own_recipe"]
    category: str
    usual_unit: str
    usual_grams: float


class FoodPage(Told):
    """One page of a search."""

    items: list[FoundFood]
    next: str | None = Field(description="Give it as cursor for the next page; null: this was the last.")


class FoodValue(Told):
    """One value per 100 g."""

    amount: float | None
    unit: str
    how: str


class Portion(Told):
    """One household portion."""

    unit: str
    grams: float
    source: str


class CreditShown(Told):
    """One way a food credits, per 100 g and before rounding."""

    credit_as: str
    per_100g: dict[str, float]


class ContainmentShown(Told):
    """What is known of one allergen in a food."""

    level: Literal["contains", "may_contain", "free", "unknown"]
    basis: str
    evidence: str
    evidence_message: SaidMessage | None


class StorageTime(Told):
    """How long a class of food keeps in one place; days_from 0 where one figure is printed."""

    region: str
    place: Literal["fridge", "freezer", "pantry"]
    days_from: float
    days_to: float
    source: str
    source_status: SourceStatus
    note: str


class StorageShown(Told):
    """A storage class; the stricter region counts."""

    id: str
    title: str
    note: str
    times: list[StorageTime]


class FoodReply(Told):
    """Everything known of one food."""

    id: str
    name: str
    kind: Literal["lunch_food", "recipe", "generic_food", "own_food", "own_recipe"]
    category: str
    search_words: list[str]
    source: str
    editions: list[str]
    per_100g: dict[str, FoodValue]
    portions: list[Portion]
    credits: list[CreditShown]
    allergens: dict[str, ContainmentShown]
    other_allergens: ContainmentShown
    forms: list[str]
    choking_rule: str | None
    perishable: bool | None
    storage: StorageShown | None
    freezing: str | None
    product_kind: str | None
    note: str
    kept: dict[str, Any] | None = Field(
        None, description="Only of an own food or recipe: what was kept of it, with its times."
    )
