"""What is printed: a card for each child, and one sheet for the fridge.

Paper is never printed smaller than 12 pt: what would not fit is left out, or goes on fewer cards a page.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil
from typing import Any

from service.domain.messages import Message
from service.web.forms.form import sentences_of
from service.web.language.words import told_amount
from service.web.set_out.view import take_said


@dataclass(frozen=True)
class CardLine:
    """How many are taken of what; several lists of names stand in for each other."""

    take: str
    items: list[list[str]]


@dataclass(frozen=True)
class CardView:
    """A child's card. ``lines`` is empty where it cannot take a lunch."""

    nickname: str
    lines: list[CardLine]
    rules: list[str]


@dataclass(frozen=True)
class CardsView:
    """The context of ``set_out/cards.html``: the offer, the day, the cards of each page; ``faults``: nickname and sentences.

    ``a_page``: how many cards go on a page.
    """

    id: str
    name: str
    day: str
    pages: list[list[CardView]]
    a_page: int
    faults: list[tuple[str, list[str]]]


CARDS_A_PAGE, LONG_CARDS_A_PAGE = 4, 2
CARD_WIDTH, CARD_TITLE_WIDTH = 31, 20
"""Letters of 12 pt in a line of a card, and of 18 pt in its title; some fonts have room for more."""
CARD_ROOM = 21
"""Lines of a card that is a quarter of a page, of A4 or Letter."""


def cards_view(offer: str, name: str, day: date, audit: Mapping[str, Any]) -> CardsView:
    """The cards of an audit, four to a page; two where a card is too long for a quarter of it."""
    cards = [
        CardView(one["nickname"] or "", [], [])
        if one["card"] is None
        else CardView(
            one["card"]["nickname"],
            [CardLine(line["take"], line["items"]) for line in one["card"]["lines"]],
            one["card"]["rules"],
        )
        for one in audit["children"]
    ]
    a_page = CARDS_A_PAGE if all(_lines_of_card(card) <= CARD_ROOM for card in cards) else LONG_CARDS_A_PAGE
    pages = [cards[place : place + a_page] for place in range(0, len(cards), a_page)]
    faults = [(one["nickname"], sentences_of(one["fault"])) for one in audit["faults"]]
    return CardsView(offer, name, day.isoformat(), pages, a_page, faults)


def _lines_of_card(card: CardView) -> float:
    """How long a card is, in lines of 12 pt: its title and day, its groups, its rules, and two lines of caution."""
    title = 1.5 * ceil(len(card.nickname) / CARD_TITLE_WIDTH)
    groups = sum(0.4 + _lines(line.take, CARD_WIDTH) + _all_lines(line.items, CARD_WIDTH) for line in card.lines)
    return title + 1 + groups + sum(_lines(rule, CARD_WIDTH) for rule in card.rules) + 2


def _lines(text: str, width: int) -> int:
    return max(1, ceil(len(text) / width))


def _all_lines(lists: Iterable[Iterable[str]], width: int) -> int:
    return sum(_lines(name, width) for names in lists for name in names)


@dataclass(frozen=True)
class FridgeCell:
    """One child on one day. ``logged``: ``packed``, ``bought`` or ``none``, None where nothing is; it comes before all else.

    ``buys``: at school; ``no_lunch``: what is set out makes none that it may have; ``cannot_tell``: what it may have is not known.
    """

    nickname: str
    logged: str | None
    buys: bool
    no_lunch: bool
    cannot_tell: bool


@dataclass(frozen=True)
class FridgeDay:
    """A day. ``name``: of the offer that is set out, or empty."""

    date: str
    name: str
    children: list[FridgeCell]


@dataclass(frozen=True)
class FridgeGroup:
    """A group that is set out: its name, how many are taken, the names of its foods."""

    name: str
    take: Message
    foods: list[str]


@dataclass(frozen=True)
class FridgeOffer:
    """An offer of the week, and what it holds."""

    name: str
    groups: list[FridgeGroup]


@dataclass(frozen=True)
class FridgeNote:
    """What matters for a child in this week. ``cut``: pairs of food and form; ``amounts``: of food and how much it gets of it.

    ``faults``: why something cannot be told.
    """

    nickname: str
    not_for: list[str]
    read_first: list[str]
    cut: list[tuple[str, str]]
    amounts: list[tuple[str, str]]
    faults: list[str]

    def __bool__(self) -> bool:
        return bool(self.not_for or self.read_first or self.cut or self.amounts or self.faults)


@dataclass(frozen=True)
class FridgeView:
    """The context of ``set_out/fridge.html``.

    ``notes``: of the children for whom something matters. ``written``: one page has room for what the offers hold.
    """

    monday: str
    before: str
    after: str
    children: list[str]
    days: list[FridgeDay]
    offers: list[FridgeOffer]
    notes: list[FridgeNote]
    written: bool


SHEET_ROOM, SHEET_WIDTH = 36, 95
"""Lines of 12 pt on a page across, and letters in one of them, of A4 or Letter; some fonts have room for more."""
NOTE_WIDTH = 75
"""Letters in a line beside a nickname."""


def fridge_view(week: Mapping[str, Any], language: str) -> FridgeView:
    """The sheet from the job's reply (``jobs.household.fridge``)."""
    monday = date.fromisoformat(week["monday"])
    days = [_day(day) for day in week["days"]]
    offers = [
        FridgeOffer(
            day["offer"]["name"],
            [
                FridgeGroup(group["id"], take_said(group["take"]), [item["name"] for item in group["items"]])
                for group in day["offer"]["groups"]
            ],
        )
        for day in week["days"]
        if day["offer"] is not None and day["same_as"] is None
    ]
    notes = [
        note
        for place in range(len(week["children"]))
        if (note := _note([day["for_child"][place] for day in week["days"]], language))
    ]
    return FridgeView(
        monday=week["monday"],
        before=(monday - timedelta(weeks=1)).isoformat(),
        after=(monday + timedelta(weeks=1)).isoformat(),
        children=week["children"],
        days=days,
        offers=offers,
        notes=notes,
        written=_lines_of_sheet(week["children"], days, offers, notes) <= SHEET_ROOM,
    )


def _day(day: Mapping[str, Any]) -> FridgeDay:
    return FridgeDay(
        date=day["date"],
        name="" if day["offer"] is None else day["offer"]["name"],
        children=[
            FridgeCell(one["nickname"], one["logged"], one["buys"], one["no_lunch"], bool(one["fault"]))
            for one in day["for_child"]
        ],
    )


def _note(rows: Sequence[Mapping[str, Any]], language: str) -> FridgeNote:
    """What matters for a child, from its row of each day of the week; each food once."""

    def once(kind: str) -> list[Any]:
        return list(dict.fromkeys(each for row in rows for each in row[kind]))

    amounts = [(name, told_amount(much, unit, language)) for name, much, unit in once("amounts")]
    faults = list(dict.fromkeys(each for fault in once("fault") for each in sentences_of(fault)))
    return FridgeNote(rows[0]["nickname"], once("not_for"), once("read_first"), once("cut"), amounts, faults)


def _lines_of_sheet(
    children: Sequence[str], days: Sequence[FridgeDay], offers: Sequence[FridgeOffer], notes: Sequence[FridgeNote]
) -> float:
    """How long the whole sheet is, in lines of 12 pt: its title, the table, what is set out, the notes, and the caution."""
    column = max(8, (SHEET_WIDTH - 12) // (len(children) + 2))
    table = max((_lines(name, column) for name in children), default=1) + 0.4
    table += sum(0.4 + _lines(day.name, 2 * column) for day in days)
    held = sum(
        1.2 + sum(_lines(f"{group.name} (take 1): {', '.join(group.foods)}", SHEET_WIDTH) for group in offer.groups)
        for offer in offers
    )
    noted = 0.0
    for note in notes:
        cut = [f"{name} {form}" for name, form in note.cut]
        amounts = [f"{name} {much}" for name, much in note.amounts]
        for part in (note.not_for, note.read_first, cut, amounts, note.faults):
            noted += _lines(", ".join(part), NOTE_WIDTH) + 0.2 if part else 0
    return 2 + table + (1.4 + held if offers else 0) + (1.4 + noted if notes else 0) + 1.4
