"""What the page of a plan's shopping list shows."""

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from babel.numbers import format_decimal

from service.domain.plan.kitchen_amounts import OUNCES_IN_A_POUND
from service.reference.foods.pictures import picture_of
from service.reference.plan.kitchen import kitchen
from service.reference.sources import in_words
from service.web.forms.form import Form
from service.web.forms.numbers import figure
from service.web.kitchen.sheets import UNITS, Sheets
from service.web.language.chosen import text, translated
from service.web.language.words import A_KILO, money, told_amount, weight

CUPS_IN_A_QUART, QUARTS_IN_A_GALLON = 4, 4
READ_IT, NO_PRICE, STORE_PACKETS = "shopping.read-packet", "shopping.unpriced", "shopping.store-packets"
"""Notes of the list that the page says in its own place."""


@dataclass(frozen=True)
class Bought:
    """What came home of a line: how much, where it is kept, its entry in the stock, and what is still to be bought (empty: nothing)."""

    amount: str
    place: str
    entry: str
    short: str


@dataclass(frozen=True)
class ToRead:
    """A packet to read: the id of its food, empty where it has none, and a sentence that says for whom."""

    food: str
    name: str
    sentence: str


@dataclass(frozen=True)
class ShopLine:
    """A line. ``mark``: its name on the page; ``line``: what is sent; ``packs``: as one buys it; ``cost``: empty where not known.

    ``table_name``: in the composition table, empty where it is the same; ``grams``, ``place``: what is preset; ``can_tick``: it can be an entry of the stock; ``reads``: packets to read for it.
    """

    mark: str
    line: str
    name: str
    table_name: str
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

    ``units``: metric or us. ``form``: the first day of shopping, or what was typed of the line ``of`` and is wrong; ``query``: what keeps it in addresses; ``to_pay``: of the whole list, empty where no price is known;
    ``still_to_pay``: of what is not bought, empty until something is bought; ``still_complete``: all of that has a price;
    ``costs``: what the lunches cost, as sentences; ``taken``: what is at home, as name and amount.
    """

    sheets: Sheets
    form: Form
    query: str
    days: list[ShopDay]
    to_pay: str
    still_to_pay: str
    still_complete: bool
    unpriced: list[str]
    costs: list[str]
    taken: list[tuple[str, str]]
    must_not: list[str]
    to_read: list[ToRead]
    notes: list[str]
    cautions: list[str]
    of: str = ""
    units: str = UNITS[0]

    @property
    def open_lines(self) -> int:
        """How many lines are still to be bought."""
        lines = [line for day in self.days for kind in day.kinds for line in kind.lines]
        return sum(line.bought is None or bool(line.bought.short) for line in lines)


def shopping_view(
    sheets: Sheets, reply: Mapping[str, Any] | None, form: Form, query: str, units: str, language: str
) -> ShoppingView:
    """The page from the job's reply (``jobs.household.from_plan.shopping``); None: the plan needs nothing."""
    if reply is None:
        return ShoppingView(sheets, form, query, [], "", "", True, [], [], [], [], [], [], [], units=units)
    cost = reply["cost"]
    days = [_day(one, cost, units, language) for one in reply["days"]]
    begun = any(line.bought for day in days for kind in day.kinds for line in kind.lines)
    return ShoppingView(
        sheets=sheets,
        form=form,
        query=query,
        days=days,
        to_pay="" if cost is None else _money(cost["to_pay_minor"], cost, language),
        still_to_pay=_money(cost["still_to_pay_minor"], cost, language) if begun and cost is not None else "",
        still_complete=cost is None or cost["still_to_pay_complete"],
        unpriced=reply["unpriced"],
        costs=[] if cost is None else list(_costs(cost, language)),
        taken=[(one["name"], _at_home(one, units, language)) for one in reply["taken"]],
        must_not=[one["sentence"] for one in reply["must_not"]],
        to_read=[_to_read(one, language) for one in reply["packets_to_read"]],
        notes=_without(reply, NO_PRICE, STORE_PACKETS),
        cautions=reply["cautions"],
        of=mark_of(form.text("line")) if form.text("line") else "",
        units=units,
    )


def told(grams: float, ml_per_gram: float | None, units: str, language: str) -> str:
    """An amount as one buys it: what is poured in litres, or US cups, quarts and gallons; the rest by weight.

    >>> told(7320, 0.97, "metric", "en"), told(7320, 0.97, "us", "en"), told(250, 0.97, "metric", "en")
    ('7.1 litres', '1.9 gallons', '242 ml')
    >>> told(320, None, "us", "en"), told(1000, None, "us", "en"), told(244, 0.97, "us", "en")
    ('11.3 oz', '2.2 lb', '1 cup')
    """
    if ml_per_gram is None:
        if units == "metric":
            return weight(grams, language)
        ounces = grams * A_KILO / float(kitchen().ounce_mg)
        small = ounces < OUNCES_IN_A_POUND
        return f"{_one_place(ounces if small else ounces / OUNCES_IN_A_POUND, language)} {'oz' if small else 'lb'}"
    ml = grams * ml_per_gram
    if units == "metric":
        if ml < A_KILO:
            return f"{format_decimal(round(ml), locale=language)} ml"
        return text("kitchen.litres", language, n=round(ml / A_KILO, 1))
    cups = ml * A_KILO / float(next(one.size_ul for one in kitchen().measures if one.id == "cup"))
    quarts = cups / CUPS_IN_A_QUART
    if quarts >= QUARTS_IN_A_GALLON:
        return text("kitchen.gallons", language, n=round(quarts / QUARTS_IN_A_GALLON, 1))
    if quarts >= 1:
        return text("kitchen.quarts", language, n=round(quarts, 1))
    return text("kitchen.cups", language, n=round(cups, 1))


def _at_home(one: Mapping[str, Any], units: str, language: str) -> str:
    """So many apples or sandwiches where they are counted, and how much that is."""
    much = told(one["grams"], one["ml_per_gram"], units, language)
    if one["pieces"] is None:
        return much
    return f"{told_amount(one['pieces'], one['piece'], language)}, {much}"


def _one_place(number: float, language: str) -> str:
    return format_decimal(round(number, 1), locale=language)


def mark_of(line: str) -> str:
    """The name of a line on the page."""
    return hashlib.sha256(line.encode()).hexdigest()[:12]


def _day(day: Mapping[str, Any], cost: Mapping[str, Any] | None, units: str, language: str) -> ShopDay:
    kinds = [
        ShopKind(one["title"], [_line(each, cost, units, language) for each in one["lines"]]) for one in day["kinds"]
    ]
    paid = "" if cost is None or not day["cost_minor"] else _money(day["cost_minor"], cost, language)
    return ShopDay(day["on"], paid, day["complete"], kinds)


def _line(line: Mapping[str, Any], cost: Mapping[str, Any] | None, units: str, language: str) -> ShopLine:
    bought = line["bought"]
    much = told(line["exact_grams"], line["ml_per_gram"], units, language)
    pieces = None if line["pieces"] is None else told_amount(line["pieces"], line["piece"], language)
    return ShopLine(
        mark=mark_of(line["line"]),
        line=line["line"],
        name=line["name"],
        table_name=line["table_name"] or "",
        picture=picture_of(line["name"], line["kind"]),
        eaten_as=line["eaten_as"],
        amount=much if pieces is None else f"{pieces}, {much}",
        packs=[_pack(one, language) for one in line["packs"]],
        cost="" if cost is None or line["cost_minor"] is None else _money(line["cost_minor"], cost, language),
        not_for=line["not_for"],
        reads=[_to_read(one, language) for one in line["to_read"]],
        notes=_without(line, READ_IT),
        waste=line["waste"],
        source=in_words(line["source"]),
        grams=figure(line["grams"]),
        place=line["place"],
        can_tick=line["can_be_stock"],
        bought=None
        if bought is None
        else Bought(
            told(bought["grams"], line["ml_per_gram"], units, language),
            bought["place"],
            bought["id"],
            told(bought["short_grams"], line["ml_per_gram"], units, language) if bought["short_grams"] else "",
        ),
    )


def _to_read(one: Mapping[str, Any], language: str) -> ToRead:
    names, allergens = one["children"], [translated(each, language) for each in one["allergens"]]
    sentence = text("kitchen.read-it", language, name=one["name"], names=names, allergens=allergens)
    return ToRead(one["food"] or "", one["name"], sentence)


def _without(reply: Mapping[str, Any], *codes: str) -> list[str]:
    """The notes of a list or line, without those that the page says elsewhere."""
    return [said for said, one in zip(reply["notes"], reply["note_messages"], strict=True) if one["code"] not in codes]


def _pack(pack: Mapping[str, Any], language: str) -> str:
    return text("kitchen.pack", language, n=pack["number"], weight=weight(pack["pack_grams"], language, 3))


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
