"""What the pages of the stock show."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from babel.numbers import format_decimal

from service.domain.messages import message, message_of
from service.reference.foods.pictures import picture_of
from service.reference.messages import say
from service.web.foods.shown import FoodRow
from service.web.forms.form import Form
from service.web.language.chosen import text
from service.web.language.words import short_day, weight
from service.web.stock.form import PLACES, one_portion

SOON_DAYS = 2
OTHER = {"fridge": "freezer", "freezer": "fridge", "cupboard": "fridge"}
"""Where one tap moves a thing to."""


@dataclass(frozen=True)
class EntryLine:
    """An entry in a list. ``kind``: how its state is marked; ``state``: the words for it; ``rule``: why until that day.

    ``one``: how many portions a tap stands for, empty for all that is left; ``to``: where a tap moves them.
    """

    id: str
    version: int
    food: str
    name: str
    picture: str
    portions: float
    kind: str
    state: str
    rule: str
    note: str
    one: str
    to: str
    last: bool


@dataclass(frozen=True)
class Shelf:
    """A place with its entries, what ends first in front."""

    place: str
    entries: list[EntryLine]


@dataclass(frozen=True)
class ToMove:
    """What to move this evening: sentences, and for each entry its id, version and portions to send."""

    name: str
    sentences: list[str]
    entries: list[tuple[str, int, str]]


@dataclass(frozen=True)
class StockView:
    """The context of ``stock/stock.html``. ``use_up``: sentences; ``found``: foods to add, for the words ``asked``."""

    shelves: list[Shelf]
    tonight: list[ToMove]
    use_up: list[str]
    over: list[str]
    asked: str
    found: list[FoodRow]


@dataclass(frozen=True)
class NewEntryView:
    """The context of ``stock/new.html``."""

    food: str
    name: str
    portion: str
    advice: list[str]
    form: Form


@dataclass(frozen=True)
class EntryView:
    """The context of ``stock/entry.html``. ``history``: a line an event, the newest first; ``keep``: portions always in the fridge."""

    line: EntryLine
    place: str
    freezing: list[str]
    history: list[str]
    keep: str
    form: Form
    version: str


def stock_view(
    entries: Sequence[Mapping[str, Any]],
    summary: Mapping[str, Any],
    known: Mapping[str, Mapping[str, Any]],
    asked: str,
    found: list[FoodRow],
    language: str,
) -> StockView:
    """The page from what the jobs replied; ``known``: foods by their ids."""
    lines = {one["id"]: line_of(one, known, language) for one in entries}
    ordered = sorted(entries, key=lambda one: (one["use_by"] or "9999", one["id"]))
    shelves = [Shelf(place, [lines[one["id"]] for one in ordered if one["place"] == place]) for place in PLACES]
    return StockView(
        [one for one in shelves if one.entries],
        [_to_move(one, lines, language) for one in summary["tonight"]],
        said_of(summary["use_up"], language),
        said_of(summary["over"], language),
        asked,
        found,
    )


def said_of(rows: Sequence[Mapping[str, Any]], language: str) -> list[str]:
    """The sentences of some rows of a summary."""
    return [say(message_of(one["sentence_message"]), language) for one in rows]


def tonight_of(summary: Mapping[str, Any], language: str) -> list[str]:
    """The sentences of what to move this evening."""
    return [say(message_of(said), language) for one in summary["tonight"] for said in one["sentence_messages"]]


def line_of(entry: Mapping[str, Any], known: Mapping[str, Mapping[str, Any]], language: str) -> EntryLine:
    """An entry in a list."""
    kind, state = _state(entry, language)
    category = known.get(entry["food"], {"category": ""})["category"]
    return EntryLine(
        id=entry["id"],
        version=entry["version"],
        food=entry["food"],
        name=entry["name"],
        picture=picture_of(entry["name"], category),
        portions=round(entry["portions"], 2),
        kind=kind,
        state=state,
        rule=say(message_of(entry["use_by_rule_message"]), language),
        note=entry["note"],
        one=one_portion(entry["portions"]),
        to=OTHER[entry["place"]],
        last=entry["portions"] <= 1,
    )


def number(value: float, language: str) -> str:
    """A number of portions as it is written."""
    return format_decimal(round(value, 2), locale=language)


def history_line(event: Mapping[str, Any], known: Mapping[str, Mapping[str, Any]], language: str) -> str:
    """One event in words; ``known``: the foods of its ingredients by their ids."""
    portions = number(abs(event["portions"]), language)
    values: dict[str, Any] = {"day": short_day(event["on"], language), "portions": portions}
    if event["event"] == "moved":
        return text("stock.was-moved", language, **values, place=text(f"stock.to-{event['to']}", language))
    if event["event"] == "counted":
        more = "stock.was-counted-more" if event["portions"] >= 0 else "stock.was-counted-fewer"
        return text(more, language, **values)
    if event["event"] == "given_back" and event["other"] is not None:
        return text("stock.was-given-back-of-dish", language, **values)
    if event["ingredients"]:
        names = {one["food"]: known.get(one["food"], {"name": one["food"]})["name"] for one in event["ingredients"]}
        used = [{**one, "name": names[one["food"]]} for one in event["ingredients"]]
        return " ".join([f"{text('stock.was-made', language, **values)}.", *used_for_it(used, language)])
    return text(f"stock.was-{event['event'].replace('_', '-')}", language, **values)


def used_for_it(rows: Sequence[Mapping[str, Any]], language: str) -> list[str]:
    """What a dish that was made took from the stock, and what was not there, in sentences."""
    taken = [f"{weight(one['taken_grams'], language)} {one['name']}" for one in rows if one["taken_grams"]]
    said = [text("stock.used-for-it", language, names=taken)] if taken else []
    short = [(one["name"], round(one["short_grams"], 1)) for one in rows if one["short_grams"]]
    return said + [say(message("stock.short-for-dish", name=name, grams=grams), language) for name, grams in short]


def _state(entry: Mapping[str, Any], language: str) -> tuple[str, str]:
    """How the day until which it keeps is marked, and the words for it."""
    left = entry["days_left"]
    if left is None:
        return "open", text("stock.no-day", language)
    day = short_day(entry["use_by"], language)
    if entry["quality_only"]:
        return "fine", text("stock.best-by", language, day=day)
    if left < 0:
        return "stop", text("stock.over", language, day=day)
    if left <= SOON_DAYS:
        return "mind", text("stock.use-soon", language, day=day)
    return "fine", text("stock.use-by", language, day=day)


def _to_move(row: Mapping[str, Any], lines: Mapping[str, EntryLine], language: str) -> ToMove:
    entries = [(one["id"], lines[one["id"]].version, f"{one['portions']:.10g}") for one in row["from"]]
    return ToMove(row["name"], [say(message_of(one), language) for one in row["sentence_messages"]], entries)
