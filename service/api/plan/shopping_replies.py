"""The published shapes of a shopping list."""

from datetime import date

from pydantic import Field

from service.api.replies import AsCode, AsCodes, ReplyModel, Said
from service.api.weeks.replies import PriceNotCounted
from service.jobs.word_lists import SourceStatus


class ShoppingToRead(ReplyModel):
    """A packet to read."""

    food: str | None = Field(description="Food to store the packet for; null: a food sent along without an id.")
    name: str = Field(description="Name of the food, for people.")
    children: list[str] = Field(description="Nicknames of the children for whom.")
    allergens: list[str] = Field(description="Names of the allergens to look for.")


class ShoppingPacket(ShoppingToRead, Said):
    """A packet to read, and what it settles."""

    lines: list[str] = Field(description="Ids of the lines that it settles.")


class PackBought(ReplyModel):
    """Packs of one size."""

    pack_grams: float = Field(description="What a pack weighs, in grams.")
    number: int = Field(description="Number of packs.")
    amount_minor: int = Field(description="Price of one pack, in minor units.")


class ShoppingLine(ReplyModel):
    """A food to buy on one day."""

    id: str = Field(
        description="Id of the line within this list: day of shopping and food; the same list has the same ids."
    )
    shop_on: date = Field(description="Day on which it is bought.")
    food: str | None = Field(description="Id of the food as it is bought; null: a food sent along without an id.")
    packet: str | None = Field(description="Food to store its packet for; null: it has none.")
    name: str = Field(description="Name of the food as it is bought.")
    table_name: str | None = Field(
        description="Its name in the composition table, where that is another; null: it has no other."
    )
    eaten_as: list[str] = Field(description="Names of the foods eaten of it, where they are others.")
    kind: str = Field(description="Kind of food by which the list is grouped.")
    exact_grams: float = Field(description="What is needed of it as bought, in grams.")
    grams: float = Field(description="What to buy: the packs together, or whole grams, rounded up.")
    pieces: int | None = Field(description="How many whole ones that is at least; null: it is not counted.")
    piece: str | None = Field(description="What is counted.")
    waste: str = Field(description="What is thrown away or lost of it; empty: nothing is.")
    source: str = Field(description="Where the figure of that is from; empty: bought as eaten.")
    source_status: SourceStatus | None = Field(description="How well that source is known; null: bought as eaten.")
    packs: list[PackBought] = Field(description="The packs that cover it; empty: no price is known.")
    cost_minor: int | None = Field(description="What the packs cost, in minor units; null: no price is known.")
    cheapest: bool = Field(description="Whether it is certain that no other packs with a price are cheaper.")
    left_over_grams: float | None = Field(
        description="What is left over of the packs, in grams; null: no price is known."
    )
    needed_on: list[date] = Field(description="Days on which it is eaten.")
    there_by: date = Field(description="First day on which it must be there.")
    keeps_days: int | None = Field(
        description="Days it keeps from the day it is bought; null: no figure limits it here."
    )
    needs: list[int] = Field(description="Places in `needs` that it serves, from 0.")
    not_for: list[str] = Field(description="Nicknames of children who must not have it.")
    to_read: list[ShoppingToRead] = Field(description="Packets to read for it.")
    notes: list[str] = Field(description="What to know of it, in sentences of English.")
    note_messages: AsCodes


class ShoppingKind(ReplyModel):
    """The lines of one kind of food."""

    kind: str = Field(description="Id of the kind.")
    title: str = Field(description="Its name, for people.")
    lines: list[ShoppingLine] = Field(description="What to buy.")


class ShoppingDay(ReplyModel):
    """One day of shopping."""

    on: date = Field(description="The day.")
    cost_minor: int = Field(description="Cost of the foods with a price, in minor units.")
    complete: bool = Field(description="Whether every line has a price.")
    kinds: list[ShoppingKind] = Field(description="What to buy, by kind.")


class ShoppingTaken(ReplyModel):
    """What is taken of a food that is at home already."""

    food: str = Field(description="Id or name of the food.")
    name: str = Field(description="Its name.")
    grams: float = Field(description="How much, in grams.")


class ShoppingMustNot(Said):
    """A food that is wanted for a child who must not have it."""

    need: int = Field(description="Place in `needs`, from 0.")
    need_id: str | None = Field(description="Your own id for it, as sent.")
    nickname: str = Field(description="Nickname of the child.")


class ShoppingCostOfLunch(ReplyModel):
    """What one child's lunch costs."""

    child: str | None = Field(description="Nickname; null: foods that are for any of them.")
    on: date = Field(description="The day.")
    cost_minor: int = Field(description="Cost of the foods with a price, in minor units.")
    complete: bool = Field(description="Whether everything in it has a price.")


class ShoppingCostOfChild(ReplyModel):
    """What one child's lunches cost."""

    nickname: str = Field(description="Nickname of the child.")
    lunches: int = Field(description="Number of days with something for it alone.")
    cost_minor: int = Field(description="Cost of the foods with a price, in minor units.")
    complete: bool = Field(description="Whether everything has a price.")
    each_minor: int = Field(description="What one of them costs on average.")


class ShoppingCostOfWeek(ReplyModel):
    """What an ISO week costs."""

    week: str = Field(description="The ISO week, e.g. 2026-W49.")
    cost_minor: int = Field(description="Cost of the foods with a price, in minor units.")
    complete: bool = Field(description="Whether everything has a price.")


class AgainstSchool(ReplyModel):
    """The lunches of single children against the school's meal."""

    lunches: int = Field(description="Number of lunches compared.")
    packed_minor: int = Field(description="Cost of the foods in them with a price.")
    school_minor: int = Field(description="What as many school meals cost on these days.")
    own_price_lunches: int = Field(description="For how many of them the child's own price was used, not the menu's.")
    saved_minor: int | None = Field(
        description="How much less the lunches from home cost; null: something has no price."
    )
    sentence: str = Field(description="The same in a sentence of English.")
    sentence_message: AsCode


class ShoppingCost(ReplyModel):
    """What the lunches cost. What is at home already counts at what it would cost to buy."""

    currency: str = Field(description="ISO 4217 code.")
    digits: int = Field(description="Decimals of the currency.")
    to_pay_minor: int = Field(description="What the packs on the list cost.")
    eaten_minor: int = Field(description="Cost of what is eaten, each food by the pack that costs least per gram.")
    complete: bool = Field(description="Whether everything that is eaten has a price.")
    unpriced: list[str] = Field(description="Names of foods without a price.")
    lunches: list[ShoppingCostOfLunch] = Field(description="By child and day.")
    children: list[ShoppingCostOfChild] = Field(description="By child.")
    weeks: list[ShoppingCostOfWeek] = Field(description="By ISO week.")
    single_packs_minor: int = Field(description="What the same costs from the smallest pack of each food.")
    single_packs: str = Field(description="What small packs cost more, in a sentence of English; empty: nothing.")
    single_packs_message: AsCode | None
    school: AgainstSchool | None = Field(description="Against the school's meal; null: there is nothing to compare.")
    not_counted: list[PriceNotCounted] = Field(
        description="Prices in another currency: of what is eaten, and of the meal that children would have instead."
    )


class ShoppingListReply(ReplyModel):
    """What to buy on which day."""

    shop_on: date = Field(description="The first day of shopping.")
    days: list[ShoppingDay] = Field(description="The days of shopping on which there is something to buy.")
    taken: list[ShoppingTaken] = Field(description="What is taken of what is at home already.")
    unpriced: list[str] = Field(description="Names of foods on the list without a price, where other foods have one.")
    packets_to_read: list[ShoppingPacket] = Field(description="Packets to read, each once.")
    must_not: list[ShoppingMustNot] = Field(description="Foods that are wanted for children who must not have them.")
    cost: ShoppingCost | None = Field(description="What the lunches cost; null: no price is known.")
    notes: list[str] = Field(description="What to know of the list, in sentences of English.")
    note_messages: AsCodes
    cautions: list[str] = Field(description="What goes with every answer.")
    caution_messages: AsCodes
