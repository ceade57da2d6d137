"""The published shapes of branded foods."""

from typing import Literal

from pydantic import Field

from service.api.foods.replies import ContainmentShown
from service.api.replies import AsCodes, ReplyModel, SaidMessage


class BrandedValueShown(ReplyModel):
    """One value of a branded food, for 100 g or 100 ml of it."""

    nutrient: str = Field(description="Id of the measure, e.g. sodium_mg.")
    amount: float | None = Field(description="The amount in `unit`; null: not known, never zero.")
    unit: str = Field(description="Unit of the amount, e.g. g, mg, kcal.")
    basis: Literal["100 g", "100 ml"] = Field(
        description="What the amount is for; the one is never turned into the other."
    )
    fdc_id: int = Field(description="The version of the entry that it comes from.")
    date: str | None = Field(description="When that version was last changed; null: it does not say.")
    implausible: bool = Field(description="Whether it cannot well be right; the notes say why.")


class BrandedFoodShown(ReplyModel):
    """The newest version of the entry of one code. The packet in hand may have a different recipe: compare the two."""

    gtin: str = Field(description="The code under the bars, in 14 digits.")
    fdc_id: int = Field(description="Id of this version in FoodData Central.")
    description: str = Field(description="What the product is called there.")
    brand_owner: str = Field(description="Who owns the brand; empty: not given.")
    brand_name: str = Field(description="The brand; empty: not given.")
    category: str = Field(description="Group of foods that it is listed under there; empty: not given.")
    serving_amount: float | None = Field(description="Size of a serving, in `serving_unit`; null: not given.")
    serving_unit: Literal["g", "ml"] | None = Field(description="Unit of the serving; null: not given.")
    household_serving: str = Field(description="A serving as printed, e.g. 2 cookies; empty: not given.")
    market: str = Field(description="Country that it is sold in; empty: not given.")
    modified: str | None = Field(description="When the maker changed this version; null: not given.")
    available: str | None = Field(description="Since when this version is sold; null: not given.")
    published: str | None = Field(description="When the database took this version in; null: not given.")
    date: str | None = Field(
        description="When this version was last changed: modified, else available, else published."
    )
    discontinued: str | None = Field(description="Since when it is no longer made; null: not said.")
    source: Literal["index", "live"] = Field(
        description="The index on this machine, or FoodData Central over the internet."
    )
    read: str | None = Field(description="Date of the index, or the day on which it was read over the internet.")
    ingredients: str | None = Field(description="Its list of ingredients; null: none that can be read.")
    values: list[BrandedValueShown] = Field(description="Its nutrition values; empty: it has none.")
    values_fdc_id: int | None = Field(
        description="The version that the values come from, another than `fdc_id` where that has none; null: no version has any."
    )
    allergens: dict[str, ContainmentShown] = Field(
        description="What its name and list of ingredients say, by allergen id. It clears no allergen."
    )
    other_allergens: ContainmentShown = Field(
        description="What is known of all allergens that are not listed: label_not_seen, or unknown without a list of ingredients."
    )
    notes: list[str] = Field(description="What is doubtful or missing, in sentences of English.")
    note_messages: AsCodes


class IndexLookedIn(ReplyModel):
    """The index on this machine."""

    release: str = Field(description="The day as of which it is.")


class LiveLookedIn(ReplyModel):
    """What became of asking FoodData Central."""

    read: str | None = Field(
        description="The day on which the oldest part of the answer was read; null: there is no answer."
    )
    kept: bool = Field(description="Whether some of it was read before, and kept.")
    stale: bool = Field(
        description="Whether some of it was kept for more than 30 days, since the network gave no newer one."
    )
    problem: str = Field(
        description="Why the network gave no answer, in a sentence of English; empty: it did, or was not needed."
    )
    problem_message: SaidMessage | None = Field(description="The same as a code and its values.")


class BrandedFoods(ReplyModel):
    """The branded foods found, and where they were looked for."""

    items: list[BrandedFoodShown] = Field(description="One at the most for a code; for words the nearest first.")
    index: IndexLookedIn | None = Field(description="The index that was looked in; null: none was built.")
    live: LiveLookedIn | None = Field(
        description="FoodData Central over the internet; null: it was not asked, since it is off or the index had an answer."
    )
