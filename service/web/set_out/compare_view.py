"""Two offers side by side: for each child how many lunches are ready in each, and what differs."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from service.domain.messages import Message
from service.web.forms.form import sentences_of
from service.web.language.words import amount
from service.web.set_out.follows_view import HandledView, against_lunches
from service.web.set_out.view import rules_view, take_said


@dataclass(frozen=True)
class Counted:
    """How many lunches of one offer are ready for a child; ``sentences``: why it cannot be told.

    ``handled``: what speaks against lunches of single products, and of how food is cut and kept.

    ``unread``: lunches that wait for a packet to be read; ``unknown``: those of which something is not known.
    """

    state: str
    ready: int | None
    total: int
    handled: list[HandledView]
    causes: list[str]
    sentences: list[str]
    unread: int = 0
    unknown: int = 0


@dataclass(frozen=True)
class ChildCompared:
    """One child in both offers."""

    nickname: str
    one: Counted
    other: Counted


@dataclass(frozen=True)
class GroupCompared:
    """A group in both: how many are taken (None where the group is not there), foods in one only, and foods in both."""

    name: str
    one_take: Message | None
    other_take: Message | None
    only_one: list[str]
    only_other: list[str]
    both: list[str]


@dataclass(frozen=True)
class CompareView:
    """The context of ``set_out/compare.html``. ``one_rules``, ``other_rules``: rules of one offer only, as (food, how many, group)."""

    one: tuple[str, str]
    other: tuple[str, str]
    children: list[ChildCompared]
    groups: list[GroupCompared]
    one_rules: list[tuple[str, Message, str]]
    other_rules: list[tuple[str, Message, str]]


def compare_view(
    one: Mapping[str, Any],
    other: Mapping[str, Any],
    audits: tuple[Mapping[str, Any], Mapping[str, Any]],
    language: str,
) -> CompareView:
    """From both offers as ``offer_shown`` has them, and their audits for the family."""
    counted = [_counted(audit) for audit in audits]
    names = list(dict.fromkeys([*counted[0], *counted[1]]))
    missing = Counted("mind", None, 0, [], [], [])
    rules = [[(rule.name, rule.said, rule.then_group) for rule in rules_view(offer)] for offer in (one, other)]
    return CompareView(
        (one["id"], one["name"]),
        (other["id"], other["name"]),
        [ChildCompared(name, counted[0].get(name, missing), counted[1].get(name, missing)) for name in names],
        _groups(one, other, language),
        [rule for rule in rules[0] if rule not in rules[1]],
        [rule for rule in rules[1] if rule not in rules[0]],
    )


def _counted(audit: Mapping[str, Any]) -> dict[str, Counted]:
    found: dict[str, Counted] = {}
    for row in audit["children"]:
        right, total = row["right"], row["total"]
        state = "fine" if total and right == total else "stop" if not total else "mind"
        found[row["nickname"]] = Counted(
            state,
            right,
            total,
            [HandledView(one["sentence"], one["lunches"]) for one in against_lunches(row)],
            [one["sentence"] for one in row["causes"]],
            [],
            row["check_label"] or 0,
            row["unknown"] or 0,
        )
    for row in audit["faults"]:
        found[row["nickname"]] = Counted("mind", None, 0, [], [], sentences_of(row["fault"]))
    return found


def _groups(one: Mapping[str, Any], other: Mapping[str, Any], language: str) -> list[GroupCompared]:
    by_name = [{group["id"]: group for group in offer["groups"]} for offer in (one, other)]
    rows = []
    for name in dict.fromkeys([*by_name[0], *by_name[1]]):
        first, second = by_name[0].get(name), by_name[1].get(name)
        foods = [_foods(first, language), _foods(second, language)]
        rows.append(
            GroupCompared(
                name,
                None if first is None else take_said(first["take"]),
                None if second is None else take_said(second["take"]),
                [food for food in foods[0] if food not in foods[1]],
                [food for food in foods[1] if food not in foods[0]],
                [food for food in foods[0] if food in foods[1]],
            )
        )
    return rows


def _foods(group: Mapping[str, Any] | None, language: str) -> list[str]:
    """Each food with its portion: another portion of the same food is a difference."""
    items = [] if group is None else group["items"]
    return [f"{one['name']} {amount(one['quantity'], one['unit'], language)}".strip() for one in items]
