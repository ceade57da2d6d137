"""What the pages of an offer show: what is changed on the left, what follows from it on the right."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

import orjson

from service.domain.measures import MEASURES, NUTRIENT_COUNT
from service.domain.messages import Message, message
from service.jobs.offers.edits import changes_to_make
from service.reference.fault_words import fault_sentence
from service.reference.foods.pictures import picture_of
from service.reference.messages import say
from service.reference.sources import in_words
from service.web.cautions import Caution, cautions_of
from service.web.conflicts import Conflict
from service.web.forms import Form
from service.web.language import page_message
from service.web.words import amount, told_amount

MOST_REASONS = 3
GROUP_UNITS = frozenset(one.unit for one in MEASURES[NUTRIENT_COUNT:])
"""Units in which groups of foods are counted, as against nutrients."""
"""Causes and ways to find out that are shown for a child; the figures behind one tap have all."""


@dataclass(frozen=True)
class OwnView:
    """A child's own amount of a food: in words, and as its field holds it; both empty where it gets what everybody gets."""

    child: str
    nickname: str
    much: str
    quantity: str


@dataclass(frozen=True)
class ItemView:
    """A food of a group. ``much``: its portion in words; ``units``: those it can be given in; ``by_child``: a row for each child."""

    key: str
    name: str
    picture: str
    much: str
    quantity: str
    unit: str
    units: list[str]
    own: bool
    by_child: list[OwnView]


@dataclass(frozen=True)
class FoundView:
    """A food that can be added: what is sent for it, and its picture."""

    food: str
    key: str
    name: str
    picture: str
    unit: str


@dataclass(frozen=True)
class SearchView:
    """The search field of a group. ``into``: its name; ``new``: the group is still to be made; ``query``: what was typed."""

    into: str
    new: bool
    query: str
    found: list[FoundView]


@dataclass(frozen=True)
class GroupView:
    """One choice group and how many are taken from it."""

    id: str
    items: list[ItemView]
    at_least: int
    at_most: int
    again: bool
    said: Message
    search: SearchView | None


@dataclass(frozen=True)
class RuleView:
    """With an item of one group, another number from another group; ``name``: of the item's food."""

    group: str
    item: str
    then_group: str
    name: str
    said: Message


@dataclass(frozen=True)
class ChangeView:
    """A smallest change in words, how many are ready after it, and what the button sends."""

    sentence: str
    ready_after: int
    total_after: int
    send: str


@dataclass(frozen=True)
class OutView:
    """What is taken out for a child, and why."""

    name: str
    why: list[str]


@dataclass(frozen=True)
class FigureView:
    """One rule of the standard: how many lunches keep it, break it, leave it open, and where it is from."""

    label: str
    wanted: str
    kept: int
    broken: int
    unknown: int
    source: str


@dataclass(frozen=True)
class CauseView:
    """What is wrong with lunches, in words. ``lacking``: the group of foods that no lunch has enough of, or empty."""

    sentence: str
    lacking: str


@dataclass(frozen=True)
class ChildFollows:
    """What follows for one child. ``state``: fine, mind or stop; ``estimated``: a sentence where lunches were not counted.

    What cannot be told: ``say_kept``: until the household says how lunches are kept; ``open_ways``: how to find out of how
    food is cut; ``missing``: figures that are missing, and ``lacking``: the foods that lack them.
    """

    id: str
    nickname: str
    state: str
    ready: int | None
    total: int
    causes: list[CauseView]
    out: list[OutView]
    emptied: list[str]
    rules: list[str]
    cut: list[str]
    unread: int
    unknown: int
    say_kept: bool
    open_ways: list[str]
    missing: list[str]
    lacking: list[str]
    changes: list[ChangeView]
    changes_note: str
    say_kept_first: bool
    estimated: str
    standard: str
    figures: list[FigureView]
    notes: list[str]


@dataclass(frozen=True)
class ChildFault:
    """A child for whom the offer cannot be judged, and what to do."""

    id: str
    nickname: str
    sentences: list[str]


@dataclass(frozen=True)
class ReadView:
    """A packet to read: ``food`` is empty for one that is not a stored food."""

    food: str
    name: str
    allergens: list[str]
    lunches: int
    children: list[str]
    before: bool


@dataclass(frozen=True)
class FollowsView:
    """The right column: each child, packets to read, what to set apart, cautions."""

    children: list[ChildFollows]
    faults: list[ChildFault]
    to_read: list[ReadView]
    apart: list[tuple[str, str]]
    cautions: list[Caution]
    nobody: bool
    could_help: bool = False
    """Whether smallest changes may be there to be found that were not looked for yet."""
    problem: list[str] = field(default_factory=list)
    """Sentences, where nothing can be counted for anybody."""


@dataclass(frozen=True)
class DayView:
    """One school day: ``here``: this offer is set out; ``other``: the name of another that is; ``past``: it is over."""

    date: str
    here: bool
    other: str
    past: bool


@dataclass(frozen=True)
class OfferView:
    """The context of ``set_out/offer.html``.

    ``may_change``: the device may do everything. ``form``: a form with faults, or an empty one; ``asked``: the part of the
    page that it is of. ``mark``: of all that the household stores, by which a script sees that something changed.
    ``kept_said``: how lunches are kept, or None where the household has not said. ``others``: id and name of its other offers.
    ``few``: sentences on what the stock has too few portions of. ``undo``: the offer as it was before it was made right, where
    that was just done.
    """

    id: str
    name: str
    version: int
    mark: str
    groups: list[GroupView]
    alternatives: list[list[str]]
    rules: list[RuleView]
    weeks: list[list[DayView]]
    follows: FollowsView
    may_change: bool
    kept_said: Message | None
    kept_form: Form
    today: str
    new_search: SearchView | None = None
    form: Form = field(default_factory=Form)
    asked: str = ""
    conflict: Conflict | None = None
    others: list[tuple[str, str]] = field(default_factory=list)
    few: list[str] = field(default_factory=list)
    undo: str = ""


def take_said(take: Mapping[str, Any]) -> Message:
    """How many are taken, in words."""
    low, high = take["at_least"], take["at_most"]
    again = bool(take["repeats"]) and high > 1
    if low == high:
        said = page_message("set-out.take", n=low)
    elif low == 0:
        said = page_message("set-out.take-up-to", n=high)
    else:
        said = page_message("set-out.take-between", low=low, high=high)
    return page_message("set-out.take-again", take=said) if again else said


def groups_view(
    offer: Mapping[str, Any], search: SearchView | None, children: Mapping[str, str], language: str
) -> list[GroupView]:
    """The groups of an offer as the job shows it (``jobs.household.set_out.offer_shown``); ``children``: id and nickname."""
    return [
        GroupView(
            id=group["id"],
            items=[_item(item, children, language) for item in group["items"]],
            at_least=group["take"]["at_least"],
            at_most=group["take"]["at_most"],
            again=group["take"]["repeats"],
            said=take_said(group["take"]),
            search=search if search is not None and not search.new and search.into == group["id"] else None,
        )
        for group in offer["groups"]
    ]


def _item(item: Mapping[str, Any], children: Mapping[str, str], language: str) -> ItemView:
    return ItemView(
        key=item["item"],
        name=item["name"],
        picture=picture_of(item["name"], item["category"]),
        much=amount(item["quantity"], item["unit"], language),
        quantity=f"{item['quantity']:g}",
        unit=item["unit"],
        units=item["units"],
        own=item["own"],
        by_child=[
            OwnView(
                child,
                nickname,
                told_amount(item["portions"][child], item["unit"], language) if child in item["portions"] else "",
                f"{item['portions'][child]:g}" if child in item["portions"] else "",
            )
            for child, nickname in children.items()
        ],
    )


def rules_view(offer: Mapping[str, Any]) -> list[RuleView]:
    """The rules of an offer, each with the name of its item."""
    names = {(group["id"], item["item"]): item["name"] for group in offer["groups"] for item in group["items"]}
    return [
        RuleView(
            rule["group"],
            rule["item"],
            rule["then_group"],
            names.get((rule["group"], rule["item"]), rule["item"]),
            take_said(rule["take"]),
        )
        for rule in offer["rules"]
    ]


def found_view(row: Mapping[str, Any]) -> FoundView:
    """A food of a search; an own food goes by its name among the others of its group."""
    own = row["kind"] in ("own_food", "own_recipe")
    return FoundView(
        row["id"],
        row["name"] if own else row["id"],
        row["name"],
        picture_of(row["name"], row["category"]),
        row["usual_unit"],
    )


def nothing_follows(sentences: list[str]) -> FollowsView:
    """The right column where nothing can be counted, and why."""
    return FollowsView([], [], [], [], [], nobody=False, problem=sentences)


def follows_view(audit: Mapping[str, Any], *, looked: bool) -> FollowsView:
    """What follows from an offer, from the audit's reply (``jobs.household.set_out.audit_for_family``).

    ``looked``: smallest changes were looked for.
    """
    return FollowsView(
        children=[_child(one) for one in audit["children"]],
        faults=[
            ChildFault(one["id"], one["nickname"], [fault_sentence(each) for each in one["fault"].faults()])
            for one in audit["faults"]
        ],
        to_read=[_read(row, before=True) for row in audit["to_read"]]
        + [_read(row, before=False) for row in audit["to_read_once"]],
        apart=[(row["name"], row["advice"]) for row in audit["to_label_or_move"]],
        cautions=cautions_of(audit),
        nobody=not audit["children"] and not audit["faults"],
        could_help=not looked
        and any(one["counted"] and one["total"] and one["right"] < one["total"] for one in audit["children"]),
    )


def _read(row: Mapping[str, Any], *, before: bool) -> ReadView:
    return ReadView(row["food"] or "", row["name"], row["allergens"], row["lunches"], row["children"], before)


def _child(row: Mapping[str, Any]) -> ChildFollows:
    right, total = row["right"], row["total"]
    units = {one["id"]: one["unit"] for one in row["targets"]}
    open_rows = [one for one in row["handling"] if one["status"] == "unknown"]
    lacking = sorted((one for one in row["items"] if one["unknown_with"]), key=lambda one: -one["unknown_with"])
    state = "fine" if total and right == total else "stop" if not total else "mind"
    return ChildFollows(
        id=row["id"],
        nickname=row["nickname"] or "",
        state=state,
        ready=right,
        total=total,
        causes=[
            CauseView(one["sentence"], one["label"] if _lacks_group(one, total, units) else "") for one in row["causes"]
        ],
        out=[OutView(one["name"], one["reasons"]) for one in row["left_out"]],
        emptied=list(row["nothing_left_in"]),
        rules=[one["sentence"] for one in row["rules_not_kept"]],
        cut=[one["sentence"] for one in row["cut_for"]],
        unread=row["check_label"] or 0,
        unknown=row["unknown"] or 0,
        say_kept=any(one["id"].startswith("holding:") for one in open_rows),
        open_ways=[one["sentence"] for one in open_rows if not one["id"].startswith("holding:")][:MOST_REASONS],
        missing=[one["label"] for one in row["targets"] if one["unknown"]],
        lacking=[one["name"] for one in lacking[:MOST_REASONS]],
        changes=[_change(one) for one in row["changes"]],
        changes_note=row["changes_note"],
        say_kept_first=(row["changes_note_message"] or {}).get("code") == "offer-note.say-holding",
        estimated=row["estimate"]["note"] if row["estimate"] else "",
        standard=row["standard"]["title"],
        figures=[_figure(one) for one in row["targets"]],
        notes=list(row["notes"]),
    )


def _lacks_group(cause: Mapping[str, Any], total: int, units: Mapping[str, str]) -> bool:
    """Whether no lunch has enough of a group of foods: it can be set out too, as no nutrient can."""
    return cause["short"] and cause["lunches"] == total and units.get(cause["target"]) in GROUP_UNITS


def _change(row: Mapping[str, Any]) -> ChangeView:
    send = [one.model_dump(mode="json", exclude_none=True) for one in changes_to_make(row["changes"])]
    return ChangeView(row["sentence"], row["right_after"], row["total_after"], orjson.dumps(send).decode())


def _figure(row: Mapping[str, Any]) -> FigureView:
    low, high, unit, basis = row["at_least"], row["at_most"], row["unit"], row["basis"]
    if low is not None and high is not None:
        wanted = message("wanted.range", low=low, high=high, unit=unit, basis=basis)
    elif low is not None and row["exclusive"]:
        wanted = message("wanted.more-than", low=low, unit=unit, basis=basis)
    elif low is not None:
        wanted = message("wanted.at-least", low=low, unit=unit, basis=basis)
    elif row["exclusive"]:
        wanted = message("wanted.less-than", high=high, unit=unit, basis=basis)
    else:
        wanted = message("wanted.at-most", high=high, unit=unit, basis=basis)
    return FigureView(row["label"], say(wanted), row["kept"], row["broken"], row["unknown"], in_words(row["source"]))


def days_view(
    weeks: Sequence[Sequence[date]], by_day: Mapping[date, str], offer: str, names: Mapping[str, str], on: date
) -> list[list[DayView]]:
    """The days on which an offer is set out, and which other is on the rest."""
    return [
        [
            DayView(
                day.isoformat(),
                by_day.get(day) == offer,
                "" if by_day.get(day) in (None, offer) else names.get(by_day[day], ""),
                day < on,
            )
            for day in week
        ]
        for week in weeks
    ]
