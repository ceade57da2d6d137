"""What the page of a week shows, a row a child, from the job's reply; the page of one child is in ``child_view``."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from service.reference.messages import page_catalogue
from service.web.forms.form import sentences_of
from service.web.language.chosen import translated
from service.web.weeks import WeekAsked

DAILY = ("school_day", "lunch")
MOST_LACKING = 5
MOST_HELP = 2


@dataclass(frozen=True)
class Mark:
    """A food group on a day: ``kind`` is full, half, empty or unknown; ``word``: the group."""

    kind: str
    word: str


@dataclass(frozen=True)
class DayCell:
    """One day of a child. ``kind``: packed, bought, none, missing, or buys (the school day says so); ``what``: few words."""

    date: str
    kind: str
    what: list[str]
    marks: list[Mark] = field(default_factory=list)
    not_for: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Correction:
    """Something that is stored otherwise by now; ``dates``: of the lunches that still go by what was stored then."""

    sentence: str
    dates: list[str]


@dataclass(frozen=True)
class Money:
    """What packed and bought lunches of the week cost, in minor units; ``complete``: everything has a price.

    ``own_price_lunches``: how many were bought at the child's own price; ``not_counted``: prices in another currency, a sentence each.
    """

    packed: int
    packed_lunches: int
    packed_complete: bool
    bought: int
    bought_lunches: int
    bought_complete: bool
    own_price_lunches: int
    currency: str
    digits: int
    not_counted: list[str]


@dataclass(frozen=True)
class ChildWeek:
    """One child's row. ``why_not``: why its week cannot be summed up, each with what to mend; then the rest is empty."""

    id: str
    nickname: str
    days: list[DayCell] = field(default_factory=list)
    lacks: list[str] = field(default_factory=list)
    too_much: list[str] = field(default_factory=list)
    not_known: int = 0
    find_out: list[str] = field(default_factory=list)
    ask_school: list[str] = field(default_factory=list)
    counted: int = 0
    school_days: int = 0
    held: list[str] = field(default_factory=list)
    help: list[str] = field(default_factory=list)
    corrections: list[Correction] = field(default_factory=list)
    money: Money | None = None
    why_not: list[str] = field(default_factory=list)

    @property
    def marked(self) -> tuple[str, ...]:
        """The food groups of its marks, in their order; the same on each of its days."""
        return next((tuple(one.word for one in day.marks) for day in self.days if day.marks), ())

    @property
    def not_logged(self) -> bool:
        """Whether a school day is not logged."""
        return any(day.kind in ("missing", "buys") for day in self.days)


@dataclass(frozen=True)
class WeekView:
    """The context of ``week/week.html``. ``groups``: whether any day has marks, which then need their legend."""

    week: WeekAsked
    children: list[ChildWeek]
    groups: bool
    currency: str
    digits: int
    household: int | None
    household_complete: bool
    may_write: bool

    @property
    def mark_orders(self) -> list[tuple[list[str], list[str]]]:
        """In which order marks stand where paper has no room for their words: nicknames, and the groups of their marks."""
        orders: dict[tuple[str, ...], list[str]] = {}
        for child in self.children:
            if child.marked:
                orders.setdefault(child.marked, []).append(child.nickname)
        return [(names, list(words)) for words, names in orders.items()]


@dataclass(frozen=True)
class WhereToAsk:
    """What would tell the rest: the foods whose labels to read, and the school's meals to ask about."""

    find_out: list[str]
    ask_school: list[str]


def week_view(family: Mapping[str, Any], asked: WeekAsked, language: str, *, may_write: bool) -> WeekView:
    """The page from the job's reply (``jobs.household.family_week``)."""
    children = [child_row(one, family["school_days"], language) for one in family["children"]]
    cost = next((one["week"]["cost"] for one in family["children"] if one["week"] and one["week"]["cost"]), None)
    whole = family["cost"]
    return WeekView(
        week=asked,
        children=children,
        groups=any(day.marks for one in children for day in one.days),
        currency="" if cost is None else cost["currency"],
        digits=next((one.money.digits for one in children if one.money is not None), 0),
        household=None if whole is None else whole["amount_minor"],
        household_complete=whole is not None and not whole["unpriced"],
        may_write=may_write,
    )


def child_row(one: Mapping[str, Any], school_days: Mapping[str, Any], language: str) -> ChildWeek:
    """A child's row from its part of the family's week."""
    week = one["week"]
    if week is None:
        return ChildWeek(
            one["id"], one["nickname"], why_not=[each for fault in one["why_not"] for each in sentences_of(fault)]
        )
    rows = [*week["findings"], *week["frequencies"]]
    short = [name_of(row, language) for row in rows if row["status"] == "short"]
    unknown = unknown_of(rows)
    ask = where_to_ask(unknown, week["days"])
    return ChildWeek(
        id=one["id"],
        nickname=one["nickname"],
        days=[_cell(day, one["id"], week, school_days, language) for day in week["days"]],
        lacks=list(dict.fromkeys(short))[:MOST_LACKING],
        too_much=list(dict.fromkeys(name_of(row, language) for row in rows if row["status"] == "over"))[:MOST_LACKING],
        not_known=len(unknown),
        find_out=ask.find_out,
        ask_school=ask.ask_school,
        counted=max([week["counted_days"], *(row["over_days"] for row in week["frequencies"])]),
        school_days=week["school_days"],
        held=list(dict.fromkeys(row["name"] for row in week["allergens"] if row["do_not_pack"])),
        help=[change["sentence"] for change in week["changes"][:MOST_HELP]],
        corrections=[Correction(row["sentence"], row["dates"]) for row in week["corrections"]],
        money=_money(week["cost"]),
    )


def name_of(row: Mapping[str, Any], language: str) -> str:
    """What a rule speaks of, in the plain words of the pages; those of the standard where the pages have none."""
    words = page_catalogue(language).texts
    return words.get(f"food-group.{row['id'].removesuffix('-week')}", translated(str(row["label"]), language))


def few_words(name: str) -> str:
    """The name of a food without what tells it from others of its kind.

    >>> few_words("carrots, cooked, no salt")
    'carrots'
    """
    return name.partition(",")[0]


def _cell(
    day: Mapping[str, Any], child: str, week: Mapping[str, Any], school_days: Mapping[str, Any], language: str
) -> DayCell:
    on, kind = day["date"], day["kind"]
    school = school_days.get(on, {"menu": None, "buys": [], "not_for": []})
    what = [few_words(item["name"]) for item in day["items"]] or ([day["menu"]] if day["menu"] else [])
    if kind == "missing" and child in school["buys"]:
        kind, what = "buys", [school["menu"]] if school["menu"] else []
        return DayCell(on, kind, what, [], what if child in school["not_for"] else [])
    not_for = [row["name"] for row in week["allergens"] if row["do_not_pack"] and on in row["dates"]]
    return DayCell(on, kind, what, _marks(on, kind, week, language), list(dict.fromkeys(not_for)))


def _marks(on: str, kind: str, week: Mapping[str, Any], language: str) -> list[Mark]:
    """A mark a food group that the standard wants on every day; none on a day without a lunch that is known of."""
    if kind not in ("packed", "bought"):
        return []
    marks = []
    for row in week["findings"]:
        if row["basis"] in DAILY and row["at_least"] and row["unit"] in ("cup", "oz eq"):
            day = next((one for one in row["days"] if one["date"] == on), None)
            marks.append(Mark(_mark(day), name_of(row, language)))
    for row in week["frequencies"]:
        if row["period"] == "day" and row["at_least"] and row["status"] != "not_applicable":
            state = "empty" if on in row["off_days"] else "unknown" if on in row["unsure_days"] else "full"
            known = next(day["counted"] or day["items"] for day in week["days"] if day["date"] == on)
            marks.append(Mark(state if known else "unknown", name_of(row, language)))
    return marks


def _mark(day: Mapping[str, Any] | None) -> str:
    if day is None or day["status"] == "unknown":
        return "unknown"
    if day["status"] in ("met", "over"):
        return "full"
    return "half" if day["amount"] > 0 else "empty"


def unknown_of(rows: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """Those of the rules of which it is not known whether they were kept."""
    return [row for row in rows if row["status"] == "unknown"]


def where_to_ask(rows: Sequence[Mapping[str, Any]], days: Sequence[Mapping[str, Any]]) -> WhereToAsk:
    """Where to find out what is not known: foods named without a figure, and the meals bought on days that are open."""
    menus = {day["date"]: day["menu"] for day in days if day["menu"]}
    names = dict.fromkeys(name for row in rows for name in _names(row["params"]))
    for row in rows:
        open_days = [one["date"] for one in row.get("days", []) if one["status"] == "unknown"]
        open_days += row.get("unsure_days", [])
        names |= dict.fromkeys(menus[on] for on in open_days if on in menus)
    meals = set(menus.values())
    return WhereToAsk([one for one in names if one not in meals], [one for one in names if one in meals])


def _names(params: Any) -> Iterable[str]:
    """The names of foods without a figure, wherever they stand in what a sentence is made from."""
    if isinstance(params, Mapping):
        for key, value in params.items():
            if key == "names" and isinstance(value, list):
                yield from (one for one in value if isinstance(one, str))
            else:
                yield from _names(value)
    elif isinstance(params, list):
        for one in params:
            yield from _names(one)


def _money(cost: Mapping[str, Any] | None) -> Money | None:
    if cost is None:
        return None
    packed, bought = cost["packed"], cost["bought"]
    return Money(
        packed["amount_minor"],
        packed["days"],
        packed["complete"],
        bought["amount_minor"],
        bought["days"],
        bought["complete"],
        sum(day["meal_price"] == "child" for day in cost["days"]),
        cost["currency"],
        _digits(cost["currency"]),
        [one["sentence"] for one in cost["not_counted"]],
    )


def _digits(currency: str) -> int:
    from service.jobs.weeks.cost_rows import decimals_of

    return decimals_of(currency)
