"""What the pages of a week show, from the jobs' replies. Words come first; exact sentences, rules and sources stand behind
"show figures".
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from service.jobs.household.packet_reading import name_of_allergen
from service.reference.messages import page_catalogue
from service.reference.sources import in_words
from service.web.cautions import Caution, cautions_of
from service.web.language import translated
from service.web.week.bars import Bar, Came, bar_of
from service.web.weeks import WeekAsked

DAILY = ("school_day", "lunch")
OFF = ("short", "over")
MOST_LACKING = 5
MOST_HELP = 2
SHARES = {"none": 0.0, "some": 0.25, "half": 0.5, "all": 1.0}
"""What came back of an item, by the word that says it."""


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
    """What packed and bought lunches of the week cost, in minor units; ``complete``: everything has a price."""

    packed: int
    packed_lunches: int
    packed_complete: bool
    bought: int
    bought_lunches: int
    bought_complete: bool
    currency: str
    digits: int


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


@dataclass(frozen=True)
class Finding:
    """A rule as a parent reads it.

    ``state``: met, short, over, unknown; ``span``: day, week, or mean (of the lunches); ``off``: days on which it was not
    kept, with how.
    """

    key: str
    name: str
    state: str
    bar: Bar | None
    kept: int
    days: int
    span: str
    off: list[tuple[str, str]]
    sentence: str
    source: str
    memory: bool


@dataclass(frozen=True)
class Item:
    """An item of a logged lunch; ``came_back``: none, some, half, all, another share in percent, or empty: not known."""

    name: str
    came_back: str
    percent: int = 0


@dataclass(frozen=True)
class LoggedDay:
    """One day on a child's page; ``version``: of the lunch, empty where none is logged; ``note``: how it counts."""

    cell: DayCell
    items: list[Item]
    version: str
    noted: bool
    may_note: bool
    note: str
    reason: str


@dataclass(frozen=True)
class Warn:
    """What matters before all else: ``stop`` is not to be packed; ``dates``: of the lunches; ``names``: of the foods."""

    stop: bool
    code: str
    what: str
    names: list[str]
    dates: list[str]


@dataclass(frozen=True)
class ChildWeekView:
    """The context of ``week/child.html``."""

    week: WeekAsked
    child: ChildWeek
    days: list[LoggedDay]
    warns: list[Warn]
    off: list[Finding]
    unknown: list[Finding]
    met: list[Finding]
    vitamins: list[Finding]
    vitamins_from: WhereToAsk
    standard: str
    age_group: str
    about: str
    variety: str
    new_foods: list[str]
    notes: list[str]
    cautions: list[Caution]
    may_write: bool
    faults: list[str]


def week_view(family: Mapping[str, Any], asked: WeekAsked, language: str, *, may_write: bool) -> WeekView:
    """The page from the job's reply (``jobs.household.family_week``)."""
    children = [child_row(one, family["school_days"], language) for one in family["children"]]
    cost = next((one["week"]["cost"] for one in family["children"] if one["week"] and one["week"]["cost"]), None)
    whole = cost["household"] if cost is not None else None
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
        return ChildWeek(one["id"], one["nickname"], why_not=one["why_not"])
    rows = [*week["findings"], *week["frequencies"]]
    short = [name_of(row, language) for row in rows if row["status"] == "short"]
    unknown = _unknown(rows)
    ask = _where_to_ask(unknown, week["days"])
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
        held=list(dict.fromkeys(row["name"] for row in week["allergens"] if row["do_not_pack"])),
        help=[change["sentence"] for change in week["changes"][:MOST_HELP]],
        corrections=[Correction(row["sentence"], row["dates"]) for row in week["corrections"]],
        money=_money(week["cost"]),
    )


def child_view(
    one: Mapping[str, Any],
    school_days: Mapping[str, Any],
    lunches: Mapping[str, Mapping[str, Any]],
    asked: WeekAsked,
    language: str,
    *,
    may_write: bool,
    may_note: Iterable[str],
    faults: list[str],
) -> ChildWeekView:
    """A child's page.

    ``lunches``: as they are stored, with their version, by day; ``may_note``: days of which it may be noted what came
    back; ``faults``: why something asked for was not done.
    """
    week = one["week"]
    row = child_row(one, school_days, language)
    notes = set(may_note)
    found = [_finding(each, language) for each in [*week["findings"], *week["frequencies"]]]
    return ChildWeekView(
        week=asked,
        child=row,
        days=[
            _logged(cell, day, lunches.get(cell.date), may_note=cell.date in notes)
            for cell, day in zip(row.days, week["days"], strict=True)
        ],
        warns=_warns(week),
        off=[each for each in found if each.state in OFF],
        unknown=[each for each in found if each.state == "unknown"],
        met=[each for each in found if each.state == "met"],
        vitamins=[_finding(each, language) for each in week["micronutrients"]],
        vitamins_from=_where_to_ask(_unknown(week["micronutrients"]), week["days"]),
        standard=week["standard"]["title"],
        age_group=week["standard"]["age_group_title"],
        about=week["standard"]["about"],
        variety=week["variety"]["sentence"],
        new_foods=week["variety"]["new_foods"] or [],
        notes=[each for each in week["notes"] if each not in {one.sentence for one in row.corrections}],
        cautions=cautions_of(week),
        may_write=may_write,
        faults=faults,
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
    school = school_days.get(on, {"menu": None, "buys": []})
    what = [few_words(item["name"]) for item in day["items"]] or ([day["menu"]] if day["menu"] else [])
    if kind == "missing" and child in school["buys"]:
        kind, what = "buys", [school["menu"]] if school["menu"] else []
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


def _finding(row: Mapping[str, Any], language: str) -> Finding:
    frequency = row["kind"] == "frequency"
    daily = row["period"] == "day" if frequency else row["basis"] in DAILY
    off: list[tuple[str, str]]
    if frequency:
        off = [(on, "off") for on in row["off_days"]] + [(on, "unknown") for on in row["unsure_days"]]
    else:
        off = [(day["date"], day["status"]) for day in row["days"] if day["status"] in (*OFF, "unknown")]
    return Finding(
        key=row["id"],
        name=name_of(row, language),
        state=row["status"],
        bar=_bar(row, daily=daily, frequency=frequency),
        kept=len(row["days"]) - len(off) if not frequency else row["over_days"] - len(off),
        days=(len(row["days"]) if not frequency else row["over_days"]) if daily else 0,
        span="day" if daily else "mean" if not frequency and row["basis"] == "week_mean" else "week",
        off=sorted(off) if daily else [],
        sentence=row["sentence"],
        source=in_words(row["source"]),
        memory=row["source_status"] == "memory",
    )


def _bar(row: Mapping[str, Any], *, daily: bool, frequency: bool) -> Bar | None:
    """The drawing of a rule: one bar, or one a day. Shares and rules of "none" are said in words only."""
    if frequency:
        came = [] if daily else [Came("", row["status"], row["least"], row["most"])]
    elif row["share_percent"] is not None or row["amount_low"] < 0:
        return None
    elif daily:
        came = [
            Came(day["date"], day["status"], day["amount"], None if day["status"] == "unknown" else day["amount"])
            for day in row["days"]
        ]
    else:
        low = row["amount_low"] if row["status"] == "unknown" else row["amount"]
        came = [Came("", row["status"], low, row["amount_high"])]
    return bar_of(came, row["at_least"], row["at_most"])


def _unknown(rows: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    return [row for row in rows if row["status"] == "unknown"]


def _where_to_ask(rows: Sequence[Mapping[str, Any]], days: Sequence[Mapping[str, Any]]) -> WhereToAsk:
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
        cost["currency"],
        _digits(cost["currency"]),
    )


def _digits(currency: str) -> int:
    from service.jobs.weeks.reply import decimals_of

    return decimals_of(currency)


def _warns(week: Mapping[str, Any]) -> list[Warn]:
    """What must be kept away and was there, what must not be packed so, then labels to read; each once with its days."""
    found: dict[tuple[bool, str, str], tuple[dict[str, None], dict[str, None]]] = {}
    for row in week["allergens"]:
        if row["do_not_pack"] or row["outcome"] in ("check_label", "may_contain"):
            code = row["outcome"]
            _note(found, (row["do_not_pack"], code, name_of_allergen(row["allergen"])), [row["name"]], row["dates"])
    for row in week["handling"]:
        _note(found, (row["status"] == "do_not_pack", "handling", row["brief"]), row["items"], row["dates"])
    return [
        Warn(stop, code, what, list(names), sorted(dates))
        for (stop, code, what), (names, dates) in sorted(found.items(), key=lambda one: not one[0][0])
    ]


def _note(
    found: dict[tuple[bool, str, str], tuple[dict[str, None], dict[str, None]]],
    key: tuple[bool, str, str],
    names: Iterable[str],
    dates: Iterable[str],
) -> None:
    of_names, of_dates = found.setdefault(key, ({}, {}))
    of_names |= dict.fromkeys(names)
    of_dates |= dict.fromkeys(dates)


def _logged(cell: DayCell, day: Mapping[str, Any], lunch: Mapping[str, Any] | None, *, may_note: bool) -> LoggedDay:
    if lunch is None:
        return LoggedDay(cell, [], "", noted=False, may_note=False, note=day["why"], reason="")
    came_back = {one["item"]: one["share"] for one in lunch["uneaten"] or []}
    noted = lunch["uneaten"] is not None
    reason = (lunch["acknowledged"] or {}).get("reason", "")
    return LoggedDay(
        cell,
        [_item(item["name"], came_back.get(place, 0.0) if noted else None) for place, item in enumerate(day["items"])],
        str(lunch["version"]),
        noted,
        may_note and bool(day["items"]),
        day["why"],
        reason,
    )


def _item(name: str, share: float | None) -> Item:
    if share is None:
        return Item(name, "")
    word = next((word for word, known in SHARES.items() if known == share), "other")
    return Item(name, word, round(share * 100))
