"""What is printed: a card for each child, and one sheet for the fridge."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from service.domain.messages import Message
from service.reference.fault_words import fault_sentence
from service.web.set_out.view import take_said
from service.web.words import told_amount


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
    """The context of ``set_out/cards.html``: the offer, the day, the cards four to a page; ``faults``: nickname and sentences."""

    id: str
    name: str
    day: str
    pages: list[list[CardView]]
    faults: list[tuple[str, list[str]]]


CARDS_A_PAGE = 4


def cards_view(offer: str, name: str, day: date, audit: Mapping[str, Any]) -> CardsView:
    """The cards of an audit, four to a page."""
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
    pages = [cards[place : place + CARDS_A_PAGE] for place in range(0, len(cards), CARDS_A_PAGE)]
    faults = [(one["nickname"], [fault_sentence(each) for each in one["fault"].faults()]) for one in audit["faults"]]
    return CardsView(offer, name, day.isoformat(), pages, faults)


@dataclass(frozen=True)
class FridgeChild:
    """One child on one day. ``cut``: pairs of food and form; ``amounts``: of food and how much of it is its own amount."""

    nickname: str
    buys: bool
    not_for: list[str]
    read_first: list[str]
    cut: list[tuple[str, str]]
    amounts: list[tuple[str, str]]
    fault: list[str]


@dataclass(frozen=True)
class FridgeGroup:
    """A group that is set out: its name, how many are taken, the names of its foods."""

    name: str
    take: Message
    foods: list[str]


@dataclass(frozen=True)
class FridgeDay:
    """A day. ``name``: of the offer, or empty; ``same_as``: the day on which it is written out, or empty."""

    date: str
    name: str
    same_as: str
    groups: list[FridgeGroup]
    children: list[FridgeChild]


@dataclass(frozen=True)
class FridgeView:
    """The context of ``set_out/fridge.html``."""

    monday: str
    before: str
    after: str
    children: list[str]
    days: list[FridgeDay]


def fridge_view(week: Mapping[str, Any], language: str) -> FridgeView:
    """The sheet from the job's reply (``jobs.household.fridge``)."""
    monday = date.fromisoformat(week["monday"])
    return FridgeView(
        monday=week["monday"],
        before=(monday - timedelta(weeks=1)).isoformat(),
        after=(monday + timedelta(weeks=1)).isoformat(),
        children=week["children"],
        days=[_day(day, language) for day in week["days"]],
    )


def _day(day: Mapping[str, Any], language: str) -> FridgeDay:
    offer = day["offer"]
    written = offer is not None and day["same_as"] is None
    return FridgeDay(
        date=day["date"],
        name="" if offer is None else offer["name"],
        same_as=day["same_as"] or "",
        groups=[
            FridgeGroup(group["id"], take_said(group["take"]), [item["name"] for item in group["items"]])
            for group in (offer["groups"] if written else [])
        ],
        children=[
            FridgeChild(
                one["nickname"],
                one["buys"],
                one["not_for"],
                one["read_first"],
                [*one["cut"]] if written else [],
                [(name, told_amount(much, unit, language)) for name, much, unit in one["amounts"]] if written else [],
                one["fault"],
            )
            for one in day["for_child"]
        ],
    )
