"""The published shapes of foods."""

from typing import Any, Literal

from pydantic import Field

from service.api.replies import ReplyModel, SaidMessage, SourceStatus


class FoundFood(ReplyModel):
    """One food found by a search."""

    id: str = Field(description="Its id.")
    name: str = Field(description="Its name.")
    kind: Literal["lunch_food", "recipe", "generic_food", "own_food", "own_recipe"] = Field(
        description="What kind it is."
    )
    category: str = Field(description="Its category.")
    usual_unit: str = Field(description="The unit of its usual portion.")
    usual_grams: float = Field(description="Weight of its usual portion in grams.")


class FoodPage(ReplyModel):
    """One page of a search."""

    items: list[FoundFood] = Field(description="The items.")
    next: str | None = Field(description="Give it as cursor for the next page; null: this was the last.")


class FoodValue(ReplyModel):
    """One value per 100 g."""

    amount: float | None = Field(description="In the unit given.")
    unit: str = Field(description="The unit of its amounts.")
    how: str = Field(description="How the value is known.")


class Portion(ReplyModel):
    """One household portion."""

    unit: str = Field(description="The unit of its amounts.")
    grams: float = Field(description="Weight in grams.")
    source: str = Field(description="Where it comes from: publication and place.")


class CreditShown(ReplyModel):
    """One way a food credits, per 100 g and before rounding."""

    credit_as: str = Field(description="What it is credited as.")
    per_100g: dict[str, float] = Field(description="Per 100 g, by name.")


class ContainmentShown(ReplyModel):
    """What is known of one allergen in a food."""

    level: Literal["contains", "may_contain", "free", "unknown"] = Field(description="What is known of it in the food.")
    basis: str = Field(description="What it applies to or is based on.")
    evidence: str = Field(description="What the level rests on, in a sentence of English.")
    evidence_message: SaidMessage | None = Field(description="The same as a code and its values.")


class StorageTime(ReplyModel):
    """How long a class of food keeps in one place; days_from 0 where one figure is printed."""

    region: str = Field(description="Whose guidance: US or GB.")
    place: Literal["fridge", "freezer", "pantry"] = Field(description="Where it is kept.")
    days_from: float = Field(description="Least number of days; 0 where one figure is printed.")
    days_to: float = Field(description="Greatest number of days.")
    source: str = Field(description="Where it comes from: publication and place.")
    source_status: SourceStatus = Field(
        description="How well the source is known: read, second_hand, memory, estimated or proposed."
    )
    note: str = Field(description="A remark; empty: none.")


class StorageShown(ReplyModel):
    """A storage class; the stricter region counts."""

    id: str = Field(description="Its id.")
    title: str = Field(description="Its title.")
    note: str = Field(description="A remark; empty: none.")
    times: list[StorageTime] = Field(description="How long it keeps, by place and region.")


class FoodReply(ReplyModel):
    """Everything known of one food."""

    id: str = Field(description="Its id.")
    name: str = Field(description="Its name.")
    kind: Literal["lunch_food", "recipe", "generic_food", "own_food", "own_recipe"] = Field(
        description="What kind it is."
    )
    category: str = Field(description="Its category.")
    search_words: list[str] = Field(description="Other words it is found by.")
    source: str = Field(description="Where it comes from: publication and place.")
    editions: list[str] = Field(description="The editions of the tables that its figures come from.")
    per_100g: dict[str, FoodValue] = Field(description="Per 100 g, by name.")
    portions: list[Portion] = Field(description="Household portions, the usual one first.")
    credits: list[CreditShown] = Field(description="How it credits in US school meals.")
    allergens: dict[str, ContainmentShown] = Field(description="What was found of each avoided allergen.")
    other_allergens: ContainmentShown = Field(description="What is known of all allergens that are not named.")
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
