"""What the page of a plan's shopping list shows."""

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from babel.numbers import format_decimal

from service.reference.foods.pictures import picture_of
from service.web.forms import Form
from service.web.kitchen.sheets import Sheets
from service.web.language import text, translated
from service.web.numbers import figure
from service.web.words import money, told_amount

A_KILO = 1000
READ_IT, NO_PRICE = "shopping.read-packet", "shopping.unpriced"
"""Notes of the list that the page says in its own place."""


@dataclass(frozen=True)
class Bought:
    """What came home of a line: how much, where it is kept, and its entry in the stock."""

    amount: str
    place: str
    entry: str


@dataclass(frozen=True)
class ToRead:
    """A packet to read: the id of its food, empty where it has none, and a sentence that says for whom."""

    food: str
    name: str
    sentence: str


@dataclass(frozen=True)
class ShopLine:
    """A line. ``mark``: its name on the page; ``line``: what is sent; ``packs``: as one buys it; ``cost``: empty where not known.

    ``grams``, ``place``: what is preset; ``can_tick``: it can be an entry of the stock; ``reads``: packets to read for it.
    """

    mark: str
    line: str
    name: str
    picture: str
    eaten_as: list[str]
    amount: str
    packs: list[str]
    cost: str
    not_for: list[str]
    reads: list[ToRead]
    notes: list[str]
    waste: str
    source: str
    grams: str
    place: str
    can_tick: bool
    bought: Bought | None


@dataclass(frozen=True)
class ShopKind:
    """A kind of food with its lines."""

    title: str
    lines: list[ShopLine]


@dataclass(frozen=True)
class ShopDay:
    """A day of shopping; ``cost``: of what has a price, empty for nothing; ``complete``: everything has one."""

    on: str
    cost: str
    complete: bool
    kinds: list[ShopKind]

    @property
    def lines(self) -> int:
        """How many lines it has."""
        return sum(len(one.lines) for one in self.kinds)


@dataclass(frozen=True)
class ShoppingView:
    """The context of ``kitchen/shopping.html``.

    ``form``: the first day of shopping, or what was typed of the line ``of`` and is wrong; ``query``: what keeps it in addresses; ``to_pay``: empty where no price is known;
    ``costs``: what the lunches cost, as sentences; ``taken``: what is at home, as name and amount.
    """

    sheets: Sheets
    form: Form
    query: str
    days: list[ShopDay]
    to_pay: str
    unpriced: list[str]
    costs: list[str]
    taken: list[tuple[str, str]]
    must_not: list[str]
    to_read: list[ToRead]
    notes: list[str]
    cautions: list[str]
    of: str = ""

    @property
    def open_lines(self) -> int:
        """How many lines are still to be bought."""
        return sum(line.bought is None for day in self.days for kind in day.kinds for line in kind.lines)


def shopping_view(
    sheets: Sheets, reply: Mapping[str, Any] | None, form: Form, query: str, language: str
) -> ShoppingView:
    """The page from the job's reply (``jobs.household.from_plan.shopping``); None: the plan needs nothing."""
    if reply is None:
        return ShoppingView(sheets, form, query, [], "", [], [], [], [], [], [], [])
    cost = reply["cost"]
    return ShoppingView(
        sheets=sheets,
        form=form,
        query=query,
        days=[_day(one, cost, language) for one in reply["days"]],
        to_pay="" if cost is None else _money(cost["to_pay_minor"], cost, language),
        unpriced=reply["unpriced"],
        costs=[] if cost is None else list(_costs(cost, language)),
        taken=[(one["name"], weight(one["grams"], language)) for one in reply["taken"]],
        must_not=[one["sentence"] for one in reply["must_not"]],
        to_read=[_to_read(one, language) for one in reply["packets_to_read"]],
        notes=_without(reply, NO_PRICE),
        cautions=reply["cautions"],
        of=mark_of(form.text("line")) if form.text("line") else "",
    )


def weight(grams: float, language: str) -> str:
    """An amount in grams, or kilograms from a kilogram on.

    >>> weight(320.4, "en"), weight(2270, "en")
    ('320 g', '2.27 kg')
    """
    if grams < A_KILO:
        return f"{format_decimal(round(grams), locale=language)} g"
    return f"{format_decimal(round(grams / A_KILO, 2), locale=language)} kg"


def mark_of(line: str) -> str:
    """The name of a line on the page."""
    return hashlib.sha256(line.encode()).hexdigest()[:12]


def _day(day: Mapping[str, Any], cost: Mapping[str, Any] | None, language: str) -> ShopDay:
    kinds = [ShopKind(one["title"], [_line(each, cost, language) for each in one["lines"]]) for one in day["kinds"]]
    paid = "" if cost is None or not day["cost_minor"] else _money(day["cost_minor"], cost, language)
    return ShopDay(day["on"], paid, day["complete"], kinds)


def _line(line: Mapping[str, Any], cost: Mapping[str, Any] | None, language: str) -> ShopLine:
    bought = line["bought"]
    by_weight = weight(line["exact_grams"], language)
    pieces = None if line["pieces"] is None else told_amount(line["pieces"], line["piece"], language)
    return ShopLine(
        mark=mark_of(line["line"]),
        line=line["line"],
        name=line["name"],
        picture=picture_of(line["name"], line["kind"]),
        eaten_as=line["eaten_as"],
        amount=by_weight if pieces is None else f"{pieces}, {by_weight}",
        packs=[_pack(one, language) for one in line["packs"]],
        cost="" if cost is None or line["cost_minor"] is None else _money(line["cost_minor"], cost, language),
        not_for=line["not_for"],
        reads=[_to_read(one, language) for one in line["to_read"]],
        notes=_without(line, READ_IT),
        waste=line["waste"],
        source=line["source"],
        grams=figure(line["grams"]),
        place=line["place"],
        can_tick=line["can_be_stock"],
        bought=None if bought is None else Bought(weight(bought["grams"], language), bought["place"], bought["id"]),
    )


def _to_read(one: Mapping[str, Any], language: str) -> ToRead:
    names, allergens = one["children"], [translated(each, language) for each in one["allergens"]]
    sentence = text("kitchen.read-it", language, name=one["name"], names=names, allergens=allergens)
    return ToRead(one["food"] or "", one["name"], sentence)


def _without(reply: Mapping[str, Any], code: str) -> list[str]:
    """The notes of a list or line, without those that the page says elsewhere."""
    return [said for said, one in zip(reply["notes"], reply["note_messages"], strict=True) if one["code"] != code]


def _pack(pack: Mapping[str, Any], language: str) -> str:
    return text("kitchen.pack", language, n=pack["number"], weight=weight(pack["pack_grams"], language))


def _costs(cost: Mapping[str, Any], language: str) -> Iterator[str]:
    for one in cost["children"]:
        code = "kitchen.cost-child" if one["complete"] else "kitchen.cost-child-at-least"
        amounts = {name: _money(one[f"{name}_minor"], cost, language) for name in ("cost", "each")}
        yield text(code, language, name=one["nickname"], lunches=one["lunches"], **amounts)
    if not cost["children"] and cost["eaten_minor"]:
        code = "kitchen.cost-eaten" if cost["complete"] else "kitchen.cost-eaten-at-least"
        yield text(code, language, cost=_money(cost["eaten_minor"], cost, language))
    if cost["school"] is not None:
        yield cost["school"]["sentence"]
    if cost["single_packs"]:
        yield cost["single_packs"]


def _money(minor: int, cost: Mapping[str, Any], language: str) -> str:
    return money(minor, cost["currency"], cost["digits"], language)
