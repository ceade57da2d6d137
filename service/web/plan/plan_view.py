"""What the page of a plan shows, from the plan as it stands and what it says now."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from service.domain.messages import Message
from service.domain.shares import percent_at_most
from service.jobs.household.plan.standing import Standing, what_moved
from service.jobs.requests.fields import is_kept_id
from service.reference.messages import say
from service.web.forms.form import Form
from service.web.language.chosen import spoken_text, text, translated
from service.web.language.words import amount, said, short_day
from service.web.plan.names import plan_name
from service.web.plan.view import prep_options
from service.web.week.view import few_words

Reply = Mapping[str, Any]
WEEKEND = 5
"""The first day of the week that belongs to the school week after it."""


@dataclass(frozen=True)
class BatchLine:
    """A dish that is made: in words, and what its lock sends."""

    food: str
    made_on: str
    name: str
    words: str
    locked: bool


@dataclass(frozen=True)
class LunchLine:
    """A lunch that is given out. ``kind``, ``word``: its state; ``why``: sentences on what is not right, and by how much."""

    child: str
    items: list[str]
    kind: str
    word: str
    why: list[str]


@dataclass(frozen=True)
class DayCell:
    """A day. ``school``: it is planned; ``new``: it was added and is not planned yet; ``address``: of the stored offer."""

    date: str
    school: bool
    new: bool
    locked: bool
    is_today: bool
    over: bool
    offer: str = ""
    address: str = ""
    lunches: list[LunchLine] = field(default_factory=list)
    buyers: list[str] = field(default_factory=list)
    away: list[str] = field(default_factory=list)
    nothing_for: list[str] = field(default_factory=list)
    batches: list[BatchLine] = field(default_factory=list)
    moves: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class WeekPart:
    """A week: the days at the weekend before it on which something is to be done, and its own days."""

    monday: str
    before: list[DayCell]
    days: list[DayCell]


@dataclass(frozen=True)
class PlanView:
    """The context of ``plan/plan.html``.

    ``problem``: sentences, where it cannot be judged any more. ``cold_known``: it is known how lunches are kept cold. ``no_cost``: a
    price is not known. ``prep``: the
    form of the prep days, ``prep_options``: the days of the week. ``moved``: what the last planning changed; None: it was planned
    once only. ``come_first``: which plans have what is at home before it. ``mend``: offers whose lunches are not all right, id
    and name. ``more``: sentences to know of it, behind one tap.
    """

    id: str
    version: int
    name: str
    first: str
    last: str
    may_change: bool
    edited: bool
    moved: list[str] | None
    problem: list[str] = field(default_factory=list)
    kind: str = "open"
    word: str = ""
    score: list[str] = field(default_factory=list)
    bound: str = ""
    mind: list[str] = field(default_factory=list)
    mend: list[tuple[str, str]] = field(default_factory=list)
    used: list[str] = field(default_factory=list)
    come_first: list[str] = field(default_factory=list)
    not_bought: list[str] = field(default_factory=list)
    more: list[str] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)
    weeks: list[WeekPart] = field(default_factory=list)
    no_cost: bool = False
    can_set_out: bool = False
    cold_known: bool = True
    prep: Form = field(default_factory=Form)
    prep_options: list[tuple[str, str]] = field(default_factory=list)


def nothing_to_show(plan: Standing, problem: list[str], language: str, *, may_change: bool) -> PlanView:
    """The page of a plan that cannot be judged any more, and why."""
    return _head(plan, language, may_change=may_change, problem=problem)


def plan_view(
    plan: Standing,
    reply: Reply,
    first: Sequence[Message],
    on: date,
    language: str,
    *,
    may_change: bool,
    cold_known: bool,
) -> PlanView:
    """The page. ``reply``: what the planning says with all that was decided settled; ``first``: of the plans that come before."""
    kept, score = plan.kept, reply["score"]
    stored = {one.id: one.offer for one in kept.asked.offers if isinstance(one.offer, str)}
    stands = list(dict.fromkeys(day["offer"] for day in reply["days"] if day["offer"] in stored))
    all_right = score["right"] is not None and score["right"] == score["lunches"]
    kind, word = _state(reply, language)
    mind = [reply["sentence"], *_short(reply["short"], language)] if reply["short"] else []
    return _head(
        plan,
        language,
        may_change=may_change,
        kind=kind,
        word=word,
        score=score["sentences"],
        bound=_bound(plan),
        mind=mind,
        mend=[] if all_right else [(stored[one], one) for one in stands],
        used=list(_used(plan, reply, language)),
        come_first=[say(one, language) for one in first],
        not_bought=[one["sentence"] for one in reply["not_bought"]],
        more=[
            sentence
            for sentence, coded in zip(reply["notes"], reply["note_messages"], strict=True)
            if coded["code"] not in ("plan.proven", "plan.gap", "plan.not-all-looked-at")
        ],
        cautions=reply["cautions"],
        cold_known=cold_known,
        no_cost=score["packed_minor"] is None,
        prep=Form({"prep": sorted({str(day.weekday()) for day in kept.asked.prep_days})}),
        prep_options=prep_options(language),
        weeks=_weeks(plan, reply, stored, on, language),
        can_set_out=kept.asked.way == "offers"
        and any(one.day >= on and one.offer in stored for one in kept.decisions.days),
    )


def _head(plan: Standing, language: str, *, may_change: bool, **more: Any) -> PlanView:
    days = plan.kept.asked.days
    moved = what_moved(plan)
    return PlanView(
        id=plan.id,
        version=plan.version,
        name=plan_name(plan.kept.name, min(days), max(days), language),
        first=min(days).isoformat(),
        last=max(days).isoformat(),
        may_change=may_change,
        edited=plan.edited,
        moved=None if moved is None else [said(one, language) for one in moved],
        **more,
    )


def _short(rows: Sequence[Reply], language: str) -> Iterator[str]:
    """What there is too little of: the days of a dish in one sentence."""
    days: dict[tuple[str, int], list[str]] = {}
    for one in rows:
        days.setdefault((one["name"], one["portions"]), []).append(short_day(one["by_day"], language))
    for (name, portions), on in days.items():
        yield text("plans.short", language, name=name, portions=portions, days=on)


def _state(reply: Reply, language: str) -> tuple[str, str]:
    score = reply["score"]
    if reply["short"] or any(day["nothing_for"] for day in reply["days"]):
        return "stop", text("plans.state-short", language)
    if score["right"] is None:
        return "open", text("plans.state-not-counted", language)
    if score["right"] == score["lunches"]:
        return "fine", text("plans.state-right", language)
    if score["right_once_read"] == score["lunches"]:
        return "mind", text("plans.state-once-read", language)
    return "mind", text("plans.state-not-all", language)


def _bound(plan: Standing) -> str:
    """How much better a plan of these foods could be, as far as the search said it."""
    search = plan.kept.found.search
    if search is None:
        return ""
    if search.proven:
        return spoken_text("plan.proven")
    return spoken_text("plan.gap", percent=percent_at_most(search.gap))


def _used(plan: Standing, reply: Reply, language: str) -> Iterator[str]:
    """What there is and is used first, a sentence for each lot."""
    places = {one.id: one.place for one in plan.kept.asked.stock}
    lots: dict[str, list[Reply]] = {}
    for one in reply["from_stock"]:
        lots.setdefault(one["lot"], []).append(one)
    for lot, some in lots.items():
        portions = round(sum(one["portions"] for one in some), 2)
        place = places.get(lot, "cupboard")
        first = short_day(min(one["for_day"] for one in some), language)
        yield text(f"plans.used-{place}", language, name=some[0]["name"], portions=portions, day=first)


def _weeks(plan: Standing, reply: Reply, stored: Mapping[str, str], on: date, language: str) -> list[WeekPart]:
    days = {date.fromisoformat(one["day"]): one for one in reply["days"]}
    batches: dict[date, list[Reply]] = {}
    for one in reply["batches"]:
        batches.setdefault(date.fromisoformat(one["made_on"]), []).append(one)
    moves: dict[date, list[Reply]] = {}
    for one in reply["moves"]:
        moves.setdefault(date.fromisoformat(one["evening"]), []).append(one)
    planned = plan.days
    between = [planned[0] + timedelta(number) for number in range((planned[-1] - planned[0]).days + 1)]
    shown = {*planned, *(day for day in between if day.weekday() < WEEKEND), *batches, *moves}
    weeks: dict[date, list[date]] = {}
    for day in sorted(shown):
        weeks.setdefault(_week_of(day), []).append(day)
    cells = {
        day: _cell(plan, day, days.get(day), batches.get(day, []), moves.get(day, []), stored, on, language)
        for day in shown
    }
    school = {day for day in shown if day in days or (day.weekday() < WEEKEND and planned[0] <= day <= planned[-1])}
    return [
        WeekPart(
            monday.isoformat(),
            [cells[day] for day in some if day not in school],
            [cells[day] for day in some if day in school],
        )
        for monday, some in sorted(weeks.items())
    ]


def _week_of(day: date) -> date:
    """The Monday of the school week that a day belongs to: what is made at the weekend is for the week after it."""
    monday = day - timedelta(days=day.weekday())
    return monday + timedelta(days=7) if day.weekday() >= WEEKEND else monday


def _cell(
    plan: Standing,
    day: date,
    row: Reply | None,
    batches: Sequence[Reply],
    moves: Sequence[Reply],
    stored: Mapping[str, str],
    on: date,
    language: str,
) -> DayCell:
    locked = {(one.food, one.made_on) for one in plan.kept.locked.batches}
    offer = "" if row is None else row["offer"] or ""
    return DayCell(
        date=day.isoformat(),
        school=row is not None,
        new=row is not None and all(one.day != day for one in plan.kept.decisions.days),
        locked=day in plan.kept.locked.days,
        is_today=day == on,
        over=day < on,
        offer=offer,
        address=f"/set-out/{stored[offer]}" if is_kept_id(stored.get(offer, "")) else "",
        lunches=[] if row is None else [_lunch(one, language) for one in row["lunches"]],
        buyers=[] if row is None else row["buyers"],
        away=[] if row is None else row["away"],
        nothing_for=[] if row is None else row["nothing_for"],
        batches=[_batch(one, locked=(one["food"], day) in locked, language=language) for one in batches],
        moves=[
            text(
                "plans.move",
                language,
                name=one["name"],
                portions=one["portions"],
                day=short_day(one["for_day"], language),
            )
            for one in moves
        ],
    )


def _batch(one: Reply, *, locked: bool, language: str) -> BatchLine:
    where = "both" if one["to_freezer"] and one["to_fridge"] else "freezer" if one["to_freezer"] else "fridge"
    values = {name: one[name] for name in ("name", "batches", "portions")} | {"unit": "batch"}
    if where == "both":
        values |= {"freezer": one["to_freezer"], "fridge": one["to_fridge"]}
    words = text(f"plans.batch-{where}", language, **values)
    if one["minutes"] is not None:
        words = text("plans.batch-minutes", language, batch=words, minutes=one["minutes"])
    return BatchLine(one["food"], one["made_on"], one["name"], words, locked)


KINDS = {"pack": "fine", "check_label": "mind", "adjust": "mind", "do_not_pack": "stop"}


def _lunch(one: Reply, language: str) -> LunchLine:
    verdict = one["verdict"]
    items = []
    for item in one["items"]:
        cut = translated(item["cut"], language) if item["cut"] else ""
        much = ", ".join(one for one in (amount(item["quantity"], item["unit"], language), cut) if one)
        name = few_words(item["name"])
        items.append(text("plans.item", language, name=name, amount=much) if much else name)
    word = text("plans.no-lunch" if verdict is None else f"plans.verdict-{verdict.replace('_', '-')}", language)
    why = [] if verdict in ("pack", None) else [one["summary"], *(each["sentence"] for each in one["off"])]
    return LunchLine(one["child"], items, KINDS.get(verdict, "stop"), word, why)
