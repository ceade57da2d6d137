"""What the page shows that makes an offer right for everyone: what would change, or what stands in the way."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import orjson

from service.web.language.words import told_amount


@dataclass(frozen=True)
class ComesView:
    """A food that comes into a group: how much of it everybody gets, and who gets another amount."""

    group: str
    name: str
    much: str
    own: list[tuple[str, str]]


@dataclass(frozen=True)
class AmountView:
    """A food that stays in other amounts. ``changes``: nicknames (none: everybody), how much, and instead of how much."""

    name: str
    changes: list[tuple[list[str], str, str]]


@dataclass(frozen=True)
class HelpView:
    """A food that would help: what its button sends, and how much of it in words."""

    group: str
    food: str
    name: str
    much: str
    quantity: str
    unit: str


@dataclass(frozen=True)
class InTheWayView:
    """What stands in the way for a child, in a sentence, and foods that would help."""

    sentence: str
    helps: list[HelpView]


@dataclass(frozen=True)
class ReadyView:
    """How many lunches of a child would be ready, and how many once packets are read; None where there are too many to count."""

    nickname: str
    ready: int | None
    once_read: int | None
    total: int


@dataclass(frozen=True)
class RightView:
    """The context of ``set_out/right.html``.

    ``more``: more everyday foods were looked at. ``say_kept``: nothing was found, and how lunches are kept cold is not said: no
    food that spoils can be right before. ``problem``: sentences, where nothing could be looked for. ``send``: what the
    button stores. ``rules``: the offer has rules between groups.
    """

    id: str
    name: str
    version: int
    more: bool
    nobody: bool = False
    problem: list[str] = field(default_factory=list)
    found: bool = False
    right: bool = False
    to_read: bool = False
    same: bool = False
    rules: bool = False
    send: str = ""
    goes: list[tuple[str, str]] = field(default_factory=list)
    comes: list[ComesView] = field(default_factory=list)
    amounts: list[AmountView] = field(default_factory=list)
    children: list[ReadyView] = field(default_factory=list)
    in_the_way: list[InTheWayView] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    say_kept: bool = False


def right_view(
    offer: str, name: str, version: int, found: Mapping[str, Any], language: str, *, more: bool, rules: bool, kept: bool
) -> RightView:
    """The page from the job's reply (``jobs.household.right_for_all.design_for_all``). ``kept``: it is said how lunches are kept cold."""
    if not found["found"] and not kept:
        return RightView(offer, name, version, more, say_kept=True)
    if not found["found"]:
        rows = [
            InTheWayView(one["sentence"], [_help(each, language) for each in one["would_help"]])
            for one in found["in_the_way"]
        ]
        return RightView(offer, name, version, more, in_the_way=rows)
    return RightView(
        offer,
        name,
        version,
        more,
        found=True,
        right=found["right"],
        to_read=found["to_read"],
        same=not (found["goes"] or found["comes"] or found["amounts"]),
        rules=rules,
        send=orjson.dumps(found["groups"]).decode(),
        goes=[(one["group"], one["name"]) for one in found["goes"]],
        comes=[
            ComesView(
                one["group"],
                one["name"],
                told_amount(one["quantity"], one["unit"], language),
                [(child, told_amount(quantity, one["unit"], language)) for child, quantity in one["portions"]],
            )
            for one in found["comes"]
        ],
        amounts=[
            AmountView(
                one["name"],
                [
                    (
                        each["children"],
                        told_amount(each["after"], one["unit"], language),
                        told_amount(each["before"], one["unit"], language),
                    )
                    for each in one["changes"]
                ],
            )
            for one in found["amounts"]
        ],
        children=[
            ReadyView(one["nickname"], one["right"], one["right_once_read"], one["total"]) for one in found["children"]
        ],
        notes=found["notes"],
    )


def _help(row: Mapping[str, Any], language: str) -> HelpView:
    much = told_amount(row["quantity"], row["unit"], language)
    return HelpView(row["group"], row["food"], row["name"], much, f"{row['quantity']:g}", row["unit"])
