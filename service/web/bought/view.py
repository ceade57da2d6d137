"""What the pages of bought lunches show, from the jobs' replies and the stored school days."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from service.domain.measures import LABEL_MEASURES
from service.jobs.household.access.households import today
from service.jobs.household.days.school_menu import COLUMNS, MenuOfDay
from service.web.forms.form import Form
from service.web.forms.numbers import figure
from service.web.label_figures import OTHER_UNITS
from service.web.prices.view import PriceLine, price_line
from service.web.weeks import WeekAsked

FIRST_FIGURES = ("energy_kcal", "protein_g", "saturated_fat_g", "sodium_mg", "added_sugars_g", "fibre_g")
"""Those that menus give most often (common practice, no source); the others follow."""
KINDS = ("packed", "bought")
SAYS = "says-"
"""Before an allergen's id: the field of what the kitchen says of it."""
LONGEST_COST = 280.0
"""How long the longer of two costs is drawn, of 320."""


@dataclass(frozen=True)
class SchoolDay:
    """A day of the menu. ``version``: of the stored day, empty where nothing is stored; ``buys``: ids of children."""

    date: str
    meal: str
    details: bool
    buys: list[str]
    version: str


@dataclass(frozen=True)
class Meaning:
    """What meals mean for a child. ``kind``: not_for, may_contain, ask, or clear_of_declared; ``days``: day and meal."""

    kind: str
    nickname: str
    allergens: list[str]
    days: list[tuple[str, str]]
    buys: list[str]


@dataclass(frozen=True)
class MealPrices:
    """What the school's meal costs: today's price and those to come. ``nickname``: of the only child that pays it, or empty."""

    nickname: str
    lines: list[PriceLine]


@dataclass(frozen=True)
class CostBar:
    """A cost as a bar. ``kind``: packed or bought; ``open``: at least so much."""

    kind: str
    length: float
    open: bool
    amount: int
    lunches: int
    a_lunch: int | None


@dataclass(frozen=True)
class Cost:
    """What a child's lunches, or all, of the first week cost: packed, then bought; ``own``: lunches bought at a child's own price."""

    nickname: str
    bars: list[CostBar]
    own: int


@dataclass(frozen=True)
class BoughtView:
    """The context of ``bought/bought.html``.

    ``days``: Monday to Friday of two weeks. ``not_counted``: prices in another currency, a sentence each; ``prices``: of the school's meal, the menu's and then each child's own;
    ``costs``: each child's of the first week, then all together where there are several, in ``currency`` with ``digits`` decimals; ``days_form``, ``price_form``, ``table_form``:
    with what was typed and its faults.
    """

    week: WeekAsked
    days: list[SchoolDay]
    children: list[tuple[str, str]]
    meanings: list[Meaning]
    not_counted: list[str]
    prices: list[MealPrices]
    currency: str
    digits: int
    costs: list[Cost]
    days_form: Form
    price_form: Form
    table_form: Form
    may_write: bool
    columns: str = ", ".join(COLUMNS)


@dataclass(frozen=True)
class MealView:
    """The context of ``bought/meal.html``: one day's meal with figures and statements.

    ``allergens``: field and name of each that a child must not have; ``other_units``: salt and kJ; ``others``: figures seldom given.
    """

    date: str
    week: str
    version: str
    form: Form
    allergens: list[tuple[str, str]]
    figures: list[tuple[str, str, str]]
    other_units: tuple[str, ...]
    others: list[tuple[str, str, str]]


@dataclass(frozen=True)
class LookDay:
    """A day that was read from a table: the meal, what is known of it, and what stood there before."""

    date: str
    meal: str
    figures: int
    statement: str
    instead_of: str


@dataclass(frozen=True)
class LookView:
    """The context of ``bought/look.html``: what was read, before it is kept. ``table``: as it was sent."""

    days: list[LookDay]
    table: str
    week: str


def bought_view(
    asked: WeekAsked,
    stored: Mapping[str, Mapping[str, Any]],
    children: Sequence[Mapping[str, Any]],
    meals: Sequence[Mapping[str, Any]],
    prices: Sequence[MealPrices],
    costs: Mapping[str, Any] | None,
    *,
    days_form: Form,
    price_form: Form,
    table_form: Form,
    may_write: bool,
) -> BoughtView:
    """The page: ``stored``: school days by their date, with version; ``prices``: see ``meal_prices``."""
    return BoughtView(
        week=asked,
        days=[_day(on.isoformat(), stored.get(on.isoformat())) for on in asked.school_days(2)],
        children=[(one["id"], one["nickname"]) for one in children],
        meanings=meanings_of(meals),
        not_counted=[] if costs is None else [one["sentence"] for one in costs["not_counted"]],
        prices=list(prices),
        currency="" if costs is None else costs["currency"],
        digits=0 if costs is None else costs["digits"],
        costs=[] if costs is None else costs_of(costs),
        days_form=days_form,
        price_form=price_form,
        table_form=table_form,
        may_write=may_write,
    )


def meal_prices(
    prices: Sequence[Mapping[str, Any]], children: Sequence[Mapping[str, Any]], language: str
) -> list[MealPrices]:
    """The stored prices of the meal by whose they are: the menu's, then those of each child that has its own.

    ``prices``: by their first day. Of each today's, and those to come.
    """
    found = []
    for child, nickname in [(None, ""), *((one["id"], one["nickname"]) for one in children)]:
        lines = [price_line(dict(one), today(), language) for one in prices if one["child"] == child]
        begun = [one for one in lines if not one.to_come]
        if lines:
            found.append(MealPrices(nickname, [*begun[-1:], *(one for one in lines if one.to_come)]))
    return found


def meaning_of(meal: Mapping[str, Any] | None) -> str:
    """What a meal means for a child: ``not_for``, ``may_contain``, ``ask`` or ``clear_of_declared``; ``ask_which`` where none is known."""
    if meal is None:
        return "ask_which"
    if meal["not_for"]:
        return "not_for"
    return {"may_contain": "may_contain", "not_declared": "clear_of_declared"}.get(meal["outcome"], "ask")


def meanings_of(meals: Sequence[Mapping[str, Any]]) -> list[Meaning]:
    """What the meals mean, gathered: for each child first what it must not have, then what to ask, then the rest."""
    found: dict[tuple[str, str, str], list[Mapping[str, Any]]] = {}
    for row in meals:
        found.setdefault((row["nickname"], meaning_of(row), ",".join(row["allergens"])), []).append(row)
    order = ("not_for", "may_contain", "ask", "clear_of_declared")
    children = list(dict.fromkeys(row["nickname"] for row in meals))
    return [
        Meaning(
            kind,
            nickname,
            list(rows[0]["allergens"]),
            [(row["date"], row["meal"]) for row in rows],
            [row["date"] for row in rows if row["buys"]],
        )
        for (nickname, kind, _of), rows in sorted(
            found.items(), key=lambda one: (children.index(one[0][0]), order.index(one[0][1]))
        )
    ]


def costs_of(costs: Mapping[str, Any]) -> list[Cost]:
    """The bars of each child that had a lunch, on one axis, and of all together, on an axis of their own."""
    rows = [one for one in costs["children"] if _had_lunch(one)]
    longest = max((one[kind]["amount_minor"] for one in rows for kind in KINDS), default=0)
    drawn = [Cost(one["nickname"], _bars(one, longest), one["own_price_lunches"]) for one in rows]
    if len(rows) > 1:
        own = sum(one["own_price_lunches"] for one in rows)
        drawn.append(Cost("", _bars(costs, max(costs[kind]["amount_minor"] for kind in KINDS)), own))
    return drawn


def _had_lunch(row: Mapping[str, Any]) -> bool:
    return any(row[kind]["lunches"] for kind in KINDS)


def _bars(row: Mapping[str, Any], longest: int) -> list[CostBar]:
    return [
        CostBar(
            kind,
            round(row[kind]["amount_minor"] / (longest or 1) * LONGEST_COST, 1),
            not row[kind]["complete"],
            row[kind]["amount_minor"],
            row[kind]["lunches"],
            row[kind]["a_lunch_minor"],
        )
        for kind in KINDS
        if row[kind]["lunches"]
    ]


def meal_view(on: date, week: str, version: str, form: Form, allergens: Sequence[str]) -> MealView:
    """A day's form; ``allergens``: ids of what a child must not have."""
    figures = [(one.id, one.label, one.unit) for one in LABEL_MEASURES]
    first = [one for name in FIRST_FIGURES for one in figures if one[0] == name]
    named = [(f"{SAYS}{one}", one.replace("_", " ")) for one in allergens]
    return MealView(
        on.isoformat(), week, version, form, named, first, OTHER_UNITS, [one for one in figures if one not in first]
    )


def look_view(days: Sequence[MenuOfDay], stored: Mapping[str, Mapping[str, Any]], table: str, week: str) -> LookView:
    """What was read, beside what is stored of the same days."""
    return LookView([_look(one, stored.get(one.on.isoformat())) for one in days], table, week)


def _look(one: MenuOfDay, stored: Mapping[str, Any] | None) -> LookDay:
    facts = one.menu.facts.model_dump(exclude_none=True)
    statement = " ".join(text for text in (one.menu.contains, one.menu.may_contain) if text)
    before = (stored or {}).get("menu") or {"name": ""}
    return LookDay(one.on.isoformat(), one.menu.name, len(facts), statement, before["name"])


def _day(on: str, stored: Mapping[str, Any] | None) -> SchoolDay:
    if stored is None:
        return SchoolDay(on, "", details=False, buys=[], version="")
    menu = stored["menu"] or {"name": "", "facts": {}, "contains": None, "may_contain": None}
    known = any(one is not None for one in menu["facts"].values()) or menu["contains"] or menu["may_contain"]
    return SchoolDay(on, menu["name"], bool(known), list(stored["buys"]), str(stored["version"]))


def form_of_meal(menu: Mapping[str, Any] | None) -> Form:
    """The form of a day's meal as it is stored."""
    if menu is None:
        return Form()
    facts = {name: [figure(value)] for name, value in menu["facts"].items() if value is not None}
    texts = {name: [menu[name] or ""] for name in ("name", "contains", "may_contain")}
    says = {f"{SAYS}{one['allergen']}": [one["level"]] for one in menu["allergens"]}
    return Form({**facts, **texts, **says})
