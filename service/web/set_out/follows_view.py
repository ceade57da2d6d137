"""What follows from an offer, on the right of its page: each child, packets to read, what to set apart, cautions."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import orjson

from service.domain.measures import MEASURES, NUTRIENT_COUNT
from service.domain.messages import message
from service.domain.offers.handled import breaks
from service.jobs.offers.edits import changes_to_make
from service.reference.messages import say
from service.reference.sources import in_words
from service.web.cautions import Caution, cautions_of
from service.web.forms.form import sentences_of

MOST_REASONS = 3
"""Causes and ways to find out that are shown for a child; the figures behind one tap have all."""

GROUP_UNITS = frozenset(one.unit for one in MEASURES[NUTRIENT_COUNT:])
"""Units in which groups of foods are counted, as against nutrients."""


@dataclass(frozen=True)
class ChangeView:
    """A smallest change in words, how many are ready after it, how many once all packets are read, and what the button sends."""

    sentence: str
    ready_after: int
    read_after: int
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
class HandledView:
    """What speaks against lunches of one product, or of how food is cut or kept, in a sentence, and against how many."""

    sentence: str
    lunches: int


@dataclass(frozen=True)
class ChildFollows:
    """What follows for one child. ``state``: fine, mind or stop; ``estimated``: a sentence where lunches were not counted.
    ``ready_once_read``: if no packet still to be read names what the child must avoid.
    ``handled``: what speaks against lunches of single products, and of how food is cut and kept; ``kept_badly``: some of it is on how it is kept.

    What cannot be told: ``say_kept``: until the household says how lunches are kept; ``open_ways``: how to find out of how
    food is cut; ``missing``: figures that are missing, and ``lacking``: the foods that lack them.
    """

    id: str
    nickname: str
    state: str
    ready: int | None
    total: int
    causes: list[CauseView]
    handled: list[HandledView]
    kept_badly: bool
    out: list[OutView]
    emptied: list[str]
    rules: list[str]
    cut: list[str]
    unread: int
    ready_once_read: int
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


def nothing_follows(sentences: list[str]) -> FollowsView:
    """The right column where nothing can be counted, and why."""
    return FollowsView([], [], [], [], [], nobody=False, problem=sentences)


def follows_view(audit: Mapping[str, Any], *, looked: bool) -> FollowsView:
    """What follows from an offer, from the audit's reply (``jobs.household.set_out.audit_for_family``).

    ``looked``: smallest changes were looked for.
    """
    return FollowsView(
        children=[_child(one) for one in audit["children"]],
        faults=[ChildFault(one["id"], one["nickname"], sentences_of(one["fault"])) for one in audit["faults"]],
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
    open_rows = [one for one in [*row["handling"], *row["products"]] if one["status"] == "unknown"]
    broken_rows = against_lunches(row)
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
        handled=[HandledView(one["sentence"], one["lunches"]) for one in broken_rows],
        kept_badly=any(one["id"].startswith("holding:") for one in broken_rows),
        out=[OutView(one["name"], one["reasons"]) for one in row["left_out"]],
        emptied=list(row["nothing_left_in"]),
        rules=[one["sentence"] for one in row["rules_not_kept"]],
        cut=[one["sentence"] for one in row["cut_for"]],
        unread=row["check_label"] or 0,
        ready_once_read=row["right_once_read"] or 0,
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


def against_lunches(row: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """What of single items counts against a child's lunches for certain, most lunches first: products, forms, how they are kept."""
    rows = [one for one in row["handling"] if breaks(one["status"])]
    rows += [one for one in row["products"] if one["status"] != "unknown"]
    return sorted(rows, key=lambda one: -one["lunches"])


def _lacks_group(cause: Mapping[str, Any], total: int, units: Mapping[str, str]) -> bool:
    """Whether no lunch has enough of a group of foods: it can be set out too, as no nutrient can."""
    return cause["short"] and cause["lunches"] == total and units.get(cause["target"]) in GROUP_UNITS


def _change(row: Mapping[str, Any]) -> ChangeView:
    send = [one.model_dump(mode="json", exclude_none=True) for one in changes_to_make(row["changes"])]
    return ChangeView(
        row["sentence"],
        row["right_after"],
        row["right_once_read_after"],
        row["total_after"],
        orjson.dumps(send).decode(),
    )


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
