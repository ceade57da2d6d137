"""The published shapes of a plan of some weeks."""

from datetime import date

from pydantic import Field

from service.api.replies import AsCode, AsCodes, ReplyModel, Said
from service.jobs.plan.weeks.requests import PlanAmounts, PlanDecisions, PlanWay
from service.jobs.word_lists import Place, Verdict


class ItemGiven(ReplyModel):
    """An item of the lunch of one child."""

    group: str = Field(description="Id of the choice group.")
    item: str = Field(description="Key of the item in its group.")
    food: str = Field(description="The food, as the offers name it.")
    name: str = Field(description="Name of the food, for people.")
    quantity: float = Field(description="How many of the unit.")
    unit: str = Field(description="The unit of the amount.")
    form: str | None = Field(description="How it is cut for this child, as its lunch is checked; null: not known.")
    cut: str = Field(description="The same in words; empty where that goes without saying.")


class RowOff(Said):
    """A target that a lunch misses, and by how much."""

    id: str = Field(description="Id of the target.")
    label: str = Field(description="The target, for people.")
    percent: float = Field(description="By how much, in percent of the bound.")


class LunchGiven(ReplyModel):
    """The lunch of one child."""

    child: str = Field(description="Nickname of the child; without one, its place among the children.")
    items: list[ItemGiven] = Field(description="Its items; empty: nothing could be given.")
    verdict: Verdict | None = Field(description="What the check of this lunch says; null: it has no items.")
    summary: str = Field(description="The same in one sentence of English; empty: it has no items.")
    summary_message: AsCode | None = Field(description="The same as a code and its values; null: it has no items.")
    off: list[RowOff] = Field(description="Targets that it misses.")
    cost_minor: int | None = Field(description="What it costs, in whole minor units; null: not every food has a price.")


class DayPlanned(ReplyModel):
    """A school day of the plan."""

    day: date = Field(description="The day.")
    offer: str | None = Field(description="Id of the offer that is set out; null: each child is given a lunch.")
    settled: bool = Field(description="Whether it was settled by the request; false: chosen.")
    lunches: list[LunchGiven] = Field(description="The lunches of the children; empty: an offer is set out.")
    buyers: list[str] = Field(description="Nicknames of the children who buy the school's meal.")
    away: list[str] = Field(description="Nicknames of the children who are away.")
    nothing_for: list[str] = Field(
        description="Nicknames of children who find too few foods that they may take in the offer."
    )


class KeptUntil(ReplyModel):
    """Until when something keeps, and by which rule."""

    use_by: date | None = Field(description="The last day; null: no figure is known.")
    quality_only: bool = Field(description="Whether the day is about quality only, as in the freezer.")
    use_by_rule: str = Field(description="The rule that gives the day, as a sentence of English.")
    use_by_rule_message: AsCode


class KeptWhere(KeptUntil):
    """Until when portions keep in the place where they go."""

    place: Place


class BatchPlanned(Said):
    """A dish that is made on a prep day."""

    food: str = Field(description="The dish, as the offers name it.")
    name: str = Field(description="Its name, for people.")
    made_on: date = Field(description="The prep day.")
    batches: float = Field(description="How many batches.")
    portions: float = Field(
        description="How many portions they make; a part of a batch may make half a portion or a quarter."
    )
    to_freezer: float = Field(description="How many of them are frozen.")
    to_fridge: float = Field(description="How many of them are kept in the fridge.")
    keeps: list[KeptWhere] = Field(description="Until when they keep in each of these places, and by which rule.")
    minutes: int | None = Field(description="Minutes that making them takes; null: not known.")
    locked: bool = Field(description="Whether it was locked.")


class MovePlanned(KeptUntil, Said):
    """Portions that are moved from the freezer to the fridge on an evening."""

    evening: date = Field(description="The evening.")
    food: str = Field(description="The food, as the offers name it.")
    name: str = Field(description="Its name, for people.")
    portions: int = Field(description="How many portions.")
    for_day: date = Field(description="The day on which they are eaten.")


class NeedPlanned(ReplyModel):
    """How much of a food must be there by the morning of a day, besides what is there for the days before."""

    food: str = Field(description="The food, as the offers name it.")
    name: str = Field(description="Its name, for people.")
    grams: float = Field(description="How much, in grams.")
    portions: int = Field(description="The same in portions.")
    by_day: date = Field(description="The day.")
    dish: bool = Field(description="Whether it is one of the dishes that are made; false: it is bought.")


class StockUsed(ReplyModel):
    """What is taken from the stock for a day."""

    lot: str = Field(description="Id of the stock entry, as sent.")
    food: str = Field(description="The food, as the offers name it.")
    name: str = Field(description="Its name, for people.")
    grams: float = Field(description="How much, in grams.")
    portions: float = Field(description="The same in portions.")
    for_day: date = Field(description="The day.")


class ShortOf(Said):
    """Portions that neither a prep day nor the stock can give."""

    food: str = Field(description="The food, as the offers name it.")
    name: str = Field(description="Its name, for people.")
    portions: int = Field(description="How many portions are missing.")
    by_day: date = Field(description="The day by which they are needed.")


class MealRefused(Said):
    """Why a child does not buy the school's meal of a day."""

    child: str = Field(description="Nickname of the child.")
    day: date = Field(description="The day.")
    allergens: list[str] = Field(description="Ids of the allergens because of which it does not.")


class PlanChange(Said):
    """What differs from the earlier plan."""

    day: date = Field(description="The day it is about.")
    food: str | None = Field(description="The dish it is about; null: it is about an offer, a lunch or who buys.")


class PlanScore(ReplyModel):
    """How good the plan is, in sentences and figures."""

    right: int | None = Field(description="Number of right lunches; null: they were too many to count.")
    right_once_read: int | None = Field(description="The same once the packets are read.")
    lunches: int | None = Field(description="Number of lunches: given out, or that can be taken from the offers.")
    different: int = Field(description="Number of different offers (foods, where lunches are given out).")
    packed_minor: int | None = Field(description="What the packed lunches cost; null: not every food has a price.")
    bought_minor: int | None = Field(description="What the bought lunches cost; null: the meal has no price.")
    all_bought_minor: int | None = Field(description="What buying every lunch would cost; null: the meal has no price.")
    own_price_lunches: int = Field(
        description="For how many of all lunches the child's own price was used, not the menu's."
    )
    thrown_portions: float = Field(description="Portions that are made, cannot be kept and are not needed.")
    minutes: int | None = Field(description="Minutes of preparing; null: not known of every dish.")
    sentences: list[str] = Field(description="The same in sentences of English.")
    sentence_messages: AsCodes


class Search(ReplyModel):
    """How far the search for lunches got."""

    objective: float = Field(
        description="What was found: the cost, and what is missed, in one sum; the smaller the better."
    )
    bound: float = Field(description="No plan can be below it.")
    gap: float = Field(description="How far the bound is below what was found, as a share of it.")
    proven: bool = Field(description="Whether nothing better is possible.")


class PlanReply(Said):
    """A plan of some weeks."""

    id: str | None = Field(description="Id under which it is stored, a UUID; null: it is not stored.")
    way: PlanWay = Field(description="As sent.")
    amounts: PlanAmounts = Field(description="As sent.")
    days: list[DayPlanned] = Field(description="The school days, in order.")
    batches: list[BatchPlanned] = Field(description="What is made, in the order of the prep days.")
    moves: list[MovePlanned] = Field(description="What is moved from the freezer to the fridge, evening by evening.")
    needs: list[NeedPlanned] = Field(description="What must be there, day by day.")
    from_stock: list[StockUsed] = Field(description="What is taken from the stock.")
    short: list[ShortOf] = Field(
        description="What is missing because neither a prep day nor the stock gives it; empty: nothing."
    )
    not_bought: list[MealRefused] = Field(description="Meals of the school that a child does not buy, and why.")
    changes: list[PlanChange] = Field(
        description="What differs from the earlier plan; empty: nothing, or there was none."
    )
    score: PlanScore = Field(description="How good the plan is.")
    search: Search | None = Field(
        description="How far the search got, where each child is given a lunch; null: offers are set out."
    )
    decisions: PlanDecisions = Field(description="What was decided: send it as `before` to plan again.")
    currency: str | None = Field(description="ISO 4217 code of the prices; null: none were known.")
    digits: int | None = Field(description="Decimals of the currency; null: no prices were known.")
    unpriced: list[str] = Field(description="Names of foods without a price, where other foods have one.")
    notes: list[str] = Field(description="What to know of the answer, in sentences of English.")
    note_messages: AsCodes
    cautions: list[str] = Field(description="The usual cautions, in sentences of English.")
    caution_messages: AsCodes
