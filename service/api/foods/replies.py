"""The published shapes of foods."""

from typing import Any, Literal

from pydantic import Field

from service.api.replies import HowKnown, ReplyModel, SaidMessage, Source
from service.jobs.word_lists import FoodKind, Level


class FoundFood(ReplyModel):
    """One food found by a search."""

    id: str = Field(description="Id of the food; give it as food in a request.")
    name: str = Field(description="Name of the food, for people.")
    kind: FoodKind = Field(description="Where the food comes from.")
    category: str = Field(description="Group of foods that it is listed under.")
    usual_unit: str = Field(description="Unit of its usual portion, e.g. slice.")
    usual_grams: float = Field(description="Weight of its usual portion in grams.")


class FoodPage(ReplyModel):
    """One page of a search."""

    items: list[FoundFood] = Field(
        description="The foods: the best matches first, or in the order of the ids asked for."
    )
    next: str | None = Field(description="Give it as cursor for the next page; null: this was the last.")


class FoodValue(ReplyModel):
    """One value per 100 g."""

    amount: float | None = Field(description="The amount per 100 g, in `unit`; null: not known.")
    unit: str = Field(description="Unit of the amount, e.g. g, mg, kcal.")
    how: str = Field(description='"from the source", "unknown", or how the value was estimated.')


class Portion(ReplyModel):
    """One household portion."""

    unit: str = Field(description="Name of the household unit; give it as unit in a request.")
    grams: float = Field(description="Weight of one such unit, in grams.")
    source: Source


class CreditShown(ReplyModel):
    """One way a food credits, per 100 g and before rounding."""

    credit_as: str = Field(description="Name of this way; give it as credit_as in a request.")
    per_100g: dict[str, float] = Field(description="Credit per 100 g in cups or ounce equivalents, by food group.")


class ContainmentShown(ReplyModel):
    """What is known of one allergen in a food."""

    level: Level = Field(description="What is known of the allergen in the food.")
    basis: str = Field(
        description="What the level rests on: nature, usual_recipe, read_label, label_statement, name, recipe or none."
    )
    evidence: str = Field(description="What the level rests on, in a sentence of English.")
    evidence_message: SaidMessage | None = Field(description="The same as a code and its values.")


class StorageTime(ReplyModel):
    """How long a class of food keeps in one place; days_from 0 where one figure is printed."""

    region: str = Field(description="Whose guidance: US or GB.")
    place: Literal["fridge", "freezer", "pantry"] = Field(description="Where it is kept.")
    days_from: float = Field(description="Least number of days; 0 where the source prints one figure.")
    days_to: float = Field(description="Greatest number of days.")
    source: Source
    source_status: HowKnown
    note: str = Field(description="A remark; empty: none.")


class StorageShown(ReplyModel):
    """A storage class; the stricter region counts."""

    id: str = Field(description="Id of the storage class.")
    title: str = Field(description="Title of the storage class, for people.")
    note: str = Field(description="A remark; empty: none.")
    times: list[StorageTime] = Field(description="How long it keeps, by place and region.")


class FoodReply(ReplyModel):
    """Everything known of one food."""

    id: str = Field(description="Id of the food; give it as food in a request.")
    name: str = Field(description="Name of the food, for people.")
    kind: FoodKind = Field(description="Where the food comes from.")
    category: str = Field(description="Group of foods that it is listed under.")
    search_words: list[str] = Field(description="Other words it is found by.")
    source: Source
    editions: list[str] = Field(description="The editions of the tables that its figures come from.")
    per_100g: dict[str, FoodValue] = Field(
        description="Energy and nutrients per 100 g, by the id of the measure (energy_kcal, sodium_mg ...)."
    )
    portions: list[Portion] = Field(description="Household portions, the usual one first.")
    credits: list[CreditShown] = Field(
        description="Ways in which it counts towards the food groups of US school meals."
    )
    allergens: dict[str, ContainmentShown] = Field(
        description="What is known of each allergen that its data names, and of each of which that says worse than of all "
        "others (milk of lactose, fish of salmon), by allergen id."
    )
    other_allergens: ContainmentShown = Field(description="What is known of all allergens that are not listed.")
    forms: list[str] = Field(description="Forms it can be cut in, the usual one first.")
    choking_rule: str | None = Field(description="Id of the choking rule that speaks of it; null: none.")
    perishable: bool | None = Field(description="Whether it needs cold or hot holding; null: not known.")
    storage: StorageShown | None = Field(description="How long it keeps; null: not known.")
    freezing: str | None = Field(description="How it freezes; null: not known.")
    product_kind: str | None = Field(description="Its kind, for limits on single products; null: none.")
    note: str = Field(description="A remark; empty: none.")
    kept: dict[str, Any] | None = Field(
        None, description="Only of an own food or recipe: what was stored of it, with its times."
    )
