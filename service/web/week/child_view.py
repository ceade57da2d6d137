"""What the page of one child's week shows, from the job's reply. Words come first; exact sentences, rules and sources stand
behind "show figures".
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from service.jobs.household.packets.packet_reading import name_of_allergen
from service.reference.sources import in_words
from service.web.cautions import Caution, cautions_of
from service.web.week.bars import Bar, Came, bar_of
from service.web.week.view import DAILY, ChildWeek, DayCell, WhereToAsk, child_row, name_of, unknown_of, where_to_ask
from service.web.weeks import WeekAsked

OFF = ("short", "over")
SHARES = {"none": 0.0, "some": 0.25, "half": 0.5, "all": 1.0}
"""What came back of an item, by the word that says it."""


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
class Beside:
    """General advice beside which the week is shown: how many of its limits are kept, and each of them."""

    sentence: str
    findings: list[Finding]
    about: str


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
    beside: list[Beside]
    standard: str
    age_group: str
    about: str
    variety: str
    new_foods: list[str]
    notes: list[str]
    cautions: list[Caution]
    may_write: bool
    faults: list[str]


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
        vitamins_from=where_to_ask(unknown_of(week["micronutrients"]), week["days"]),
        beside=[
            Beside(each["sentence"], [_finding(row, language) for row in each["findings"]], each["about"])
            for each in week["yardsticks"]
        ],
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
