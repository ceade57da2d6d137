"""The published shapes of a prep sheet."""

from datetime import date

from pydantic import Field

from service.api.replies import AsCode, AsCodes, ReplyModel, Said
from service.jobs.word_lists import SourceStatus


class KitchenPart(ReplyModel):
    """An amount in one kitchen measure."""

    amount: float = Field(description="How many.")
    unit: str = Field(description="g, kg, ml, l, oz, lb, cup, tbsp or tsp (US).")


class PrepIngredient(ReplyModel):
    """An ingredient as it goes in, in amounts that can be measured."""

    food: str | None = Field(description="Id of the food; null: a food sent along without an id.")
    name: str = Field(description="Name of the food.")
    form: str | None = Field(description="How it is cut; null: not said.")
    cut: str = Field(description="The same in words; empty: not said.")
    cut_message: AsCode | None
    exact_grams: float = Field(description="The exact amount, in grams.")
    metric: list[KitchenPart] = Field(description="In metric measures.")
    us: list[KitchenPart] = Field(description="In US measures: cups and spoons where the food's volume is known.")
    within_percent: float = Field(description="How far the amounts shown may be from the exact one, in percent.")
    metric_text: str = Field(description="The metric amount in words.")
    metric_text_message: AsCode
    us_text: str = Field(description="The US amount in words.")
    us_text_message: AsCode
    count_text: str = Field(description="How many whole ones that is; empty: it is not counted.")
    count_text_message: AsCode | None


class PrepGoes(Said):
    """Where some portions go."""

    place: str = Field(description="freezer, fridge or cupboard.")
    portions: float = Field(description="Number of portions.")
    container: str | None = Field(description="What they are put in, as sent.")


class PrepFigure(Said):
    """A figure on cooling, reheating or keeping."""

    id: str = Field(description="Id of the figure.")
    region: str = Field(description="Whose guidance.")
    source: str = Field(description="Where it comes from.")
    source_status: SourceStatus = Field(description="How well the source is known.")


class PrepBatch(ReplyModel):
    """One batch."""

    place: int = Field(description="Its place in the request, from 0.")
    id: str | None = Field(description="Your own id for it, as sent.")
    food: str | None = Field(description="Id of the food; null: a food sent along without an id.")
    name: str = Field(description="Name of the dish or food.")
    portions: float = Field(description="Number of portions.")
    portion_grams: float = Field(description="Weight of a portion, in grams.")
    made_grams: float = Field(description="Weight of all portions when ready, in grams.")
    ingredients: list[PrepIngredient] = Field(description="What goes in.")
    goes: list[PrepGoes] = Field(description="Where the portions go.")
    not_put_away: float = Field(description="Number of portions of which it is not said where they go.")
    cooked: bool = Field(description="Whether it is cooked and has to be cooled.")
    cooling: list[PrepFigure] = Field(description="How fast it is cooled.")
    reheating: list[PrepFigure] = Field(description="How hot it must be when it is reheated.")
    keeping: list[PrepFigure] = Field(description="How cold the fridge and the freezer are.")
    not_for: list[str] = Field(description="Nicknames of children who must not have it.")
    notes: list[str] = Field(description="Whom it is not for, and packets to read, in sentences of English.")
    note_messages: AsCodes


class PrepStep(Said):
    """A step: what to clean before it, and what to make."""

    number: int = Field(description="Its number, from 1.")
    batch: int = Field(description="Place of the batch.")
    batch_id: str | None = Field(description="Your own id for the batch, as sent.")
    clean_before: list[str] = Field(description="Ids of the allergens that are cleaned away before it.")
    clean_for: list[str] = Field(description="Nicknames of the children for whom.")
    handles: list[str] = Field(description="Ids of the allergens that it leaves on the board, as far as is known.")
    clean: str = Field(description="What to clean, in a sentence of English; empty: nothing.")
    clean_message: AsCode | None


class PrepDip(Said):
    """A way to keep cut fruit from browning."""

    id: str = Field(description="Id of the treatment.")
    foods: list[str] = Field(description="Names of the foods that turn brown.")
    amount_per_litre: float = Field(description="How much for a litre of cold water.")
    unit: str = Field(description="Of what: g or ml.")
    minutes: float = Field(description="How long.")
    source: str = Field(description="Where the amount comes from.")
    source_status: SourceStatus = Field(description="How well that source is known.")
    minutes_source: str = Field(description="Where the time comes from.")


class PrepSheetReply(ReplyModel):
    """What to make on a day, in which order."""

    on: date = Field(description="The day.")
    title: str = Field(description="What the sheet is headed.")
    title_message: AsCode
    steps: list[PrepStep] = Field(description="The steps in order.")
    batches: list[PrepBatch] = Field(description="The batches, in the order of the request.")
    dips: list[PrepDip] = Field(
        description="Ways to keep cut fruit from browning; the amounts are those for canning and freezing."
    )
    order_basis: str = Field(description="What the order rests on.")
    order_basis_message: AsCode
    notes: list[str] = Field(description="What to know of the sheet, in sentences of English.")
    note_messages: AsCodes
    cautions: list[str] = Field(description="What goes with every answer.")
    caution_messages: AsCodes
