"""What the page of a plan's prep days shows."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from service.domain.messages import Message, message_of
from service.reference.foods.pictures import picture_of
from service.reference.messages import say
from service.reference.sources import in_words
from service.web.forms.form import Form
from service.web.kitchen.sheets import Sheets
from service.web.kitchen.shopping_view import READ_IT
from service.web.language.chosen import text
from service.web.stock.view import used_for_it


@dataclass(frozen=True)
class IngredientLine:
    """So much of a food, as one measures it; ``count``: how many whole ones, or empty; ``cut``: how it is cut, or empty."""

    amount: str
    count: str
    name: str
    cut: str


@dataclass(frozen=True)
class FigureLine:
    """A figure in words, and the source that says so."""

    sentence: str
    source: str


@dataclass(frozen=True)
class StepView:
    """A batch in its turn. ``clean``: what to wash before it, or empty; ``made``: its portions are in the stock.

    ``figures``: how fast it is cooled and how hot it is heated, where it is cooked; ``line``: what is sent; ``can_tick``: it can be an entry of the stock; ``used``: sentences on what it took from the stock; ``minutes``: in words, or empty.
    """

    number: int
    sentence: str
    clean: str
    picture: str
    minutes: str
    ingredients: list[IngredientLine]
    goes: list[str]
    figures: list[FigureLine]
    notes: list[str]
    line: str
    can_tick: bool
    made: bool
    used: list[str]


@dataclass(frozen=True)
class PrepDayView:
    """A prep day: its batches in order, what keeps cut fruit from browning, at which temperatures all is kept, and what to know."""

    on: str
    title: str
    steps: list[StepView]
    dips: list[FigureLine]
    keeping: list[FigureLine]
    notes: list[str]


@dataclass(frozen=True)
class PrepView:
    """The context of ``kitchen/prep.html``. ``units``: metric or us; ``form``: what was wrong with one that was sent."""

    sheets: Sheets
    units: str
    days: list[PrepDayView]
    cautions: list[str]
    form: Form


def prep_day_view(reply: Mapping[str, Any], units: str, language: str) -> PrepDayView:
    """A day from the job's reply (``jobs.household.from_plan.prep``)."""
    return PrepDayView(
        on=reply["on"],
        title=reply["title"],
        steps=[_step(one, reply["batches"][one["batch"]], units, language) for one in reply["steps"]],
        dips=_figures(reply["dips"]),
        keeping=_figures(one for batch in reply["batches"] for one in batch["keeping"]),
        notes=[*reply["notes"], *([reply["order_basis"]] if len(reply["steps"]) > 1 else [])],
    )


def _step(step: Mapping[str, Any], batch: Mapping[str, Any], units: str, language: str) -> StepView:
    minutes = batch["minutes"]
    return StepView(
        number=step["number"],
        sentence=step["sentence"],
        clean=step["clean"],
        picture=picture_of(batch["name"]),
        minutes="" if minutes is None else text("kitchen.minutes", language, n=minutes),
        ingredients=[_ingredient(one, units) for one in batch["ingredients"]],
        goes=[one["sentence"] for one in batch["goes"]],
        figures=_figures([*batch["cooling"], *batch["reheating"]]),
        notes=[_note(message_of(one), language) for one in batch["note_messages"]],
        line=batch["line"],
        can_tick=batch["can_be_stock"],
        made=batch["made"],
        used=used_for_it(batch["used"], language) if batch["made"] else [],
    )


def _ingredient(one: Mapping[str, Any], units: str) -> IngredientLine:
    return IngredientLine(one[f"{units}_text"], one["count_text"], one["name"], one["cut"])


def _figures(rows: Iterable[Mapping[str, Any]]) -> list[FigureLine]:
    """Each figure once."""
    return list(dict.fromkeys(FigureLine(one["sentence"], in_words(one["source"])) for one in rows))


def _note(note: Message, language: str) -> str:
    """A note of a batch; that a packet is to be read is said shorter than in the reply."""
    if note.code == READ_IT:
        return text("kitchen.read-it", language, **note.params)
    return say(note, language)
