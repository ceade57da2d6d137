"""What the page of an offer shows: what is changed on the left; what follows from it is in ``follows_view``."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from service.domain.messages import Message
from service.reference.foods.pictures import picture_of
from service.web.forms.conflicts import Conflict
from service.web.forms.form import Form
from service.web.language.chosen import page_message
from service.web.language.words import amount, told_amount
from service.web.set_out.follows_view import FollowsView


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
